# What the tool says in Korean: the messages of english.ftl, which tells what the functions do.
# Numbers and identities are left as they are written: eSpeak NG reads them in Korean. What the
# caller is to answer is asked for in the words of grammars/korean.yaml. Written for a trial of
# the language; no Korean inspector has read it yet.
#
# Only what begins with "recorded-" says "기록했습니다" (recorded).

# --- parts -------------------------------------------------------------------------------

part-recorded = { $again ->
    [yes] 기록했습니다, 앞의 것을 대신합니다.
   *[no] 기록했습니다.
}
part-last = { GIVEN($last) ->
    [yes] 마지막 항목, { $last }.
   *[no] { "" }
}
part-next = { GIVEN($next) ->
    [yes] 다음 항목, { $next }.
   *[no] 남은 항목이 없습니다.
}

# --- start, resume, close ----------------------------------------------------------------

started = { $subject } { $identity }. { $card }. 항목 { $items }개. { $caution }. 시작하십시오.
resumed = 점검을 이어 갑니다, { $subject } { $identity }. { part-last } { part-next }
close-refused = 아직 끝낼 수 없습니다. 남은 항목 { $count }개. 먼저, { $names }. 항목마다 결과를 말씀하십시오, 또는 점검 불가와 이유를 말씀하십시오.
closed = 점검을 마칩니다. 정상 { $satisfactory }개. 결함 { $discrepancies }개. 점검 불가 { $not_inspected }개. { $caution }.
sealed = 기록 장치 { $key }. 기록 끝 값 { $head }.

# --- after an entry was kept -------------------------------------------------------------

recorded-satisfactory = { $item }, 정상, { part-recorded }
recorded-state = { $good ->
    [yes] { $item }, { $state }, { part-recorded }
    [open] { $item }, { $state }, 미결, { part-recorded }
   *[no] { $item }, { $state }, 결함, { part-recorded }
}
recorded-reading = { $item }, { $value } { $unit }, { part-recorded }
recorded-reading-low = { $item }, { $value } { $unit }, 하한 { $limit } 미만, 결함, { part-recorded }
recorded-reading-high = { $item }, { $value } { $unit }, 상한 { $limit } 초과, 결함, { part-recorded }
recorded-reading-open = { $item }, { $value } { $unit }, { $why }, 미결, { part-recorded }
recorded-reading-apart = { $item }, { $value } { $unit }, 반대쪽 { $other }, 차이 { $difference }, 결함, { part-recorded }
recorded-quantity = { $item }, { $state }, { $value } { $unit }{ GIVEN($why) ->
    [yes] , { $why }
   *[no] { "" }
}, 미결, { part-recorded }
recorded-serviced = { $item }, { $value } { $unit }, 보충 { $added }, { part-recorded }
estimate = 기체 법칙으로 약 { $value } { $unit }. 어림값이며 한계가 아닙니다.
classed = { $scheme } 기준, { GIVEN($grade) ->
    [yes] { $grade }
   *[no] 크기가 없어 등급 없음
}.
recorded-status = { $item }, 상태 { $status }{ GIVEN($was) ->
    [yes] , 앞의 상태 { $was }보다 낮춤
   *[no] { "" }
}, 기록했습니다.
then = 카드 지시, { $then }.
recorded-count = { $item }, { $seen }개, { part-recorded }
recorded-count-wrong = { $item }, { $seen }개, 기준 { $expected }개, 결함, { part-recorded }
recorded-count-open = { $item }, { $state } { $seen }개, 기준 { $expected }개, 미결, { part-recorded }{ GIVEN($open) ->
    [yes] { "" } 부족 { $open }개.
   *[no] { "" }
}{ GIVEN($names) ->
    [yes] { "" } 남은 곳, { $names }.
   *[no] { "" }
}
recorded-promised = { $item }, 미결, 담당 { $owner }, { part-recorded }
recorded-still-open = { $item }, 미결{ GIVEN($reason) ->
    [yes] , 이유 { $reason }
   *[no] { "" }
}, { part-recorded }
recorded-discrepancy = { $item }, { $defect }{ GIVEN($size) ->
    [yes] , { $size } { $size_unit }
   *[no] { "" }
}{ GIVEN($place) ->
    [yes] , { $place }
   *[no] { "" }
}, 결함, { part-recorded }
recorded-not-inspected = { $item }, 점검 불가{ GIVEN($reason) ->
    [yes] , 이유 { $reason }
   *[no] { "" }
}, { part-recorded }
recorded-not-applicable = { $item }, 해당 없음, { part-recorded }
recorded-remark = 메모를 기록했습니다.
disregarded = { GIVEN($item) ->
    [yes] 마지막 결과를 취소했습니다, { $item }.
   *[no] 마지막 말씀을 취소했습니다.
}
reopened = 다시 점검할 항목, { $names }.

# --- asking back -------------------------------------------------------------------------

ask-confirm = 확인, { $call }. 그렇습니까, 아닙니까?
ask-confirm-far = 확인, { $call }. { WHEN($when, "ko") }에는 { $before }. 그렇습니까, 아닙니까?
ask-confirm-over = 확인, { $call }, 앞의 { $before } 대신. 그렇습니까, 아닙니까?
ask-either = { GIVEN($call) ->
    [yes] { $call }. { $first }, 또는, { $second }?
   *[no] 어느 것입니까. { $first }. 또는, { $second }.
}
ask-choice = { GIVEN($call) ->
    [yes] { $call }.
   *[no] { "" }
} 처음, { $first }. 마지막, { $second }. 처음 또는 마지막이라고 말씀하십시오.
affirmed-neither = 두 가지를 읽었습니다. 하나를 고르십시오.
ask-digits = { $item }. 숫자를 한 자리씩 말씀하십시오.
given-up = 받아들이지 못했습니다.{ GIVEN($names) ->
    [yes] { "" } 남은 항목, { $names }.
   *[no] { "" }
}
ask-again = 다시 말씀하십시오.
ask-which-side = { $item }. 왼쪽입니까, 오른쪽입니까?
ask-which-item = 항목을 말씀하십시오.
ask-unit = { $value }. 단위를 말씀하십시오, { JOINED($units, " 또는 ") }.
ask-result = { $item }. 정상 또는 결함을 말씀하십시오.
ask-state = { $item }. 상태를 말씀하십시오, { JOINED($states, " 또는 ") }.
ask-reading = { $item }. 값을 말씀하십시오, { JOINED($units, " 또는 ") }.
ask-servicing = { $item }. { $state }, 양을 { JOINED($units, " 또는 ") } 단위로 말씀하십시오.
ask-count = { $item }. 개수를 말씀하십시오.
ask-count-open = { $item }. { $expected }개 중 { $seen }개. { GIVEN($names) ->
    [yes] 남은 곳, { $names }.
   *[no] 몇 개인지 말씀하십시오.
}
ask-status = { $item }, 상태 { $proposed }입니까? 그렇다고 하거나 { JOINED($states, " 또는 ") } 상태를 말씀하십시오.
ask-owner = { $item }. 누가 맡았습니까?
ask-reason = { $item }, 점검 불가. 이유를 말씀하십시오.
ask-correction = 정정, 말씀하십시오.
ask-remark = 메모, 말씀하십시오.
nothing-to-answer = 대답하실 질문이 없습니다.
asked-too-late = 묻기 전의 대답은 받지 않습니다. 다시 묻겠습니다.
no-result = 점검 결과가 아닙니다. 항목과 상태를 말씀하십시오.
one-call = 한 번에 하나씩 다시 말씀하십시오.

# --- the second person -------------------------------------------------------------------

second-reading = 확인자, { $item } 확인. 값을 말씀하십시오.
second-count = 확인자, { $item } 확인. 개수를 말씀하십시오.
second-state = 확인자, { $item } 확인. 상태를 말씀하십시오.
second-affirm = 확인자, { $item }, { $call } 확인. 그렇습니까, 아닙니까?
second-differs = { $item }. { $first }, 확인자 { $second }. 다시 미결입니다.
second-negative = { $item }, 아닙니다. 다시 미결입니다.
second-no-answer = 확인되지 않았습니다.
second-silent = { $item }, 답이 없습니다. 확인 대기.
second-pending = 확인 대기 { $count }개. 먼저, { $names }.
close-unconfirmed = 아직 끝낼 수 없습니다. 확인 대기 { $count }개. 먼저, { $names }.
recorded-confirmation = { $item }, 확인, 기록했습니다.

# --- leading -----------------------------------------------------------------------------

item = { $station }. { $item }.
action = 할 일, { $action }.
hold = 대기. 먼저, { $item }, { $role } 확인.
where = { part-last } { part-next }{ GIVEN($next) ->
    [yes] { "" } 남은 항목 { $count }개.
   *[no] { "" }
}
open = 남은 항목 { $count }개. 먼저, { $names }.
all-closed = 남은 항목이 없습니다. 점검 종료라고 말씀하십시오.
caution-needs = 주의. { $item } 앞에 할 항목이 남았습니다, { $names }.
standing-by = 대기합니다.
going-on = 계속합니다. { part-last } { part-next }

# --- which one, and how well it is heard -------------------------------------------------

ask-identity = { $subject } 번호를 한 자씩 말씀하십시오.
identity-differs = { $said }, 다른 { $subject }입니다. 대기합니다.
identified = { $identity }. 계속합니다. { part-last }{ GIVEN($names) ->
    [yes] { "" } 다시 점검할 항목, { $names }.
   *[no] { "" }
} { part-next }

hearing = { $heard ->
    [good] 여기서는 잘 들립니다.
    [quiet] 목소리가 매우 작습니다. 마이크를 입에 가까이 하거나 소리를 키우십시오.
    [clipped] 목소리가 마이크에 너무 큽니다. 소리를 줄이거나 마이크를 떨어뜨리십시오.
    [fair] 소음이 있습니다. 다시 묻는 일이 있습니다.
   *[poor] 소음이 너무 큽니다. 자리를 옮기거나 마이크를 가리거나 조용해진 뒤에 말씀하십시오.
}
expired = 점검을 시작한 지 { $hours }시간이 지났습니다. 결과 { $count }개를 다시 점검해야 합니다.

# --- what earlier records say ------------------------------------------------------------

earlier-walk = 지난 점검 종료 { WHEN($when, "ko") }{ GIVEN($expired) ->
    [yes] , { $expired }시간이 지났습니다
   *[no] { "" }
}.
earlier-discrepancy = { WHEN($when, "ko") }, { $item }, { $defect }{ GIVEN($size) ->
    [yes] , { $size } { $size_unit }
   *[no] { "" }
}{ GIVEN($place) ->
    [yes] , { $place }
   *[no] { "" }
}, 결함{ GIVEN($status) ->
    [yes] , 상태 { $status }
   *[no] { "" }
}.
earlier-sent-back = { WHEN($when, "ko") } 재점검 지시, { $item }{ GIVEN($reason) ->
    [yes] , { $reason }
   *[no] { "" }
}.
earlier-skipped = { $item }, 지난 점검 { $walks }번 가운데 { $times }번 점검 불가.
seen-before = { WHEN($when, "ko") } 에도 있었습니다.
ask-acknowledge = 확인하셨으면 그렇다고 말씀하십시오.

# --- another inspector goes on -----------------------------------------------------------

ask-successor = 인계합니다. 이어받는 사람의 부호를 한 자씩 말씀하십시오.
handed-over = { $to } 이어받았습니다.
hand-over-item = { $item }, { $known }, 미결.
hand-over-count = { $item }. { $expected }개 가운데 { $seen }개.{ GIVEN($names) ->
    [yes] { "" } 남은 곳, { $names }.
   *[no] { "" }
}
hand-over-begun = 시작하고 끝내지 않은 항목 { $count }개. { $names }.
hand-over-discrepancies = 결함 { $count }개. { $names }.
hand-over-not-called = 아직 점검하지 않은 항목 { $count }개{ GIVEN($names) ->
    [yes] . 먼저, { $names }
   *[no] { "" }
}.

# --- trouble -----------------------------------------------------------------------------

not-recorded = 기록 실패, { $reason }. 말씀을 멈추십시오.
recording-again = 기록이 다시 됩니다. 말씀하십시오.
device-lost = 음향 장치가 끊겼습니다. 말씀을 멈추십시오.
device-back = 음향 장치가 돌아왔습니다. 말씀하십시오.
device-other = 다른 마이크를 쓰고 있습니다. 확인하실 때까지 다시 묻습니다.
sound-lost = 주의. { GIVEN($seconds) ->
    [yes] 음성 { $seconds }초가 빠졌습니다
   *[no] 음성 일부가 빠졌습니다
}. 확인되지 않은 말씀을 다시 하십시오.
clock-stepped = 주의. 시계가 바뀌었습니다.
