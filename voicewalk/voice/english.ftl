# What the tool says in English, into a headset, in noise: the fewest words that cannot be
# mistaken. Radiotelephony words keep their meaning (ICAO Doc 9432): "confirm" asks for
# verification, "affirm" and "negative" answer it, "go ahead" hands over the turn.
#
# Only what begins with "recorded-" says "recorded": it comes after the record has kept the
# entry. No message says it with a "not" before it, which noise could swallow.
#
#   ALOUD($text)         a name or other text, its numbers and units as they are said
#   DIGITS($value)       a number digit by digit
#   UNIT($unit, $value)  the unit's word after that number
#   SPELLED($identity)   letters by the spelling alphabet, digits one by one
#   JOINED($names, " or ")  a list of names or units, joined by the word
#   WHEN($time)          a time as day, month, hours and minutes
#   GIVEN($text)         "yes", or "no" where the text is empty

# --- parts -------------------------------------------------------------------------------

part-recorded = { $again ->
    [yes] recorded, earlier entry replaced.
   *[no] recorded.
}
part-last = { GIVEN($last) ->
    [yes] Last, { ALOUD($last) }.
   *[no] { "" }
}
part-next = { GIVEN($next) ->
    [yes] Next, { ALOUD($next) }.
   *[no] No item is open.
}

# --- start, resume, close ----------------------------------------------------------------

started = { ALOUD($subject) } { SPELLED($identity) }. { ALOUD($card) }. Items, { DIGITS($items) }. { ALOUD($caution) }. Go ahead.
resumed = Resuming, { ALOUD($subject) } { SPELLED($identity) }. { part-last } { part-next }
close-refused = The walkaround stays open. Open items, { DIGITS($count) }. First, { ALOUD($names) }. Call a result for each, or not inspected with the reason.
closed = Walkaround closed. Satisfactory, { DIGITS($satisfactory) }. Discrepancies, { DIGITS($discrepancies) }. Not inspected, { DIGITS($not_inspected) }. { ALOUD($caution) }.
sealed = Recorder, { SPELLED($key) }. Head, { SPELLED($head) }.

# --- after an entry was kept -------------------------------------------------------------

recorded-satisfactory = { ALOUD($item) }, satisfactory, { part-recorded }
recorded-state = { $good ->
    [yes] { ALOUD($item) }, { ALOUD($state) }, { part-recorded }
    [open] { ALOUD($item) }, { ALOUD($state) }, still open, { part-recorded }
   *[no] { ALOUD($item) }, { ALOUD($state) }, discrepancy, { part-recorded }
}
recorded-reading = { ALOUD($item) }, { DIGITS($value) } { UNIT($unit, $value) }, { part-recorded }
recorded-reading-low = { ALOUD($item) }, { DIGITS($value) } { UNIT($unit, $value) }, below limit { DIGITS($limit) }, discrepancy, { part-recorded }
recorded-reading-high = { ALOUD($item) }, { DIGITS($value) } { UNIT($unit, $value) }, above limit { DIGITS($limit) }, discrepancy, { part-recorded }
recorded-reading-open = { ALOUD($item) }, { DIGITS($value) } { UNIT($unit, $value) }, { ALOUD($why) }, still open, { part-recorded }
recorded-reading-apart = { ALOUD($item) }, { DIGITS($value) } { UNIT($unit, $value) }, differs by { DIGITS($difference) } from { DIGITS($other) } on the other side, discrepancy, { part-recorded }
recorded-quantity = { ALOUD($item) }, { ALOUD($state) }, { DIGITS($value) } { UNIT($unit, $value) }{ GIVEN($why) ->
    [yes] , { ALOUD($why) }
   *[no] { "" }
}, still open, { part-recorded }
recorded-serviced = { ALOUD($item) }, { DIGITS($value) } { UNIT($unit, $value) }, { DIGITS($added) } added, { part-recorded }
estimate = By the gas law about { DIGITS($value) } { UNIT($unit, $value) }. This is an estimate and judges nothing.
classed = By { ALOUD($scheme) }, { GIVEN($grade) ->
    [yes] { ALOUD($grade) }
   *[no] no class without a size
}.
recorded-status = { ALOUD($item) }, status { ALOUD($status) }{ GIVEN($was) ->
    [yes] , lowered from { ALOUD($was) }
   *[no] { "" }
}, recorded.
then = The card says, { ALOUD($then) }.
recorded-count = { ALOUD($item) }, count { DIGITS($seen) }, { part-recorded }
recorded-count-wrong = { ALOUD($item) }, count { DIGITS($seen) }, expected { DIGITS($expected) }, discrepancy, { part-recorded }
recorded-count-open = { ALOUD($item) }, { ALOUD($state) } { DIGITS($seen) }, expected { DIGITS($expected) }, still open, { part-recorded }{ GIVEN($open) ->
    [yes] { "" } Missing, { DIGITS($open) }.
   *[no] { "" }
}{ GIVEN($names) ->
    [yes] { "" } To be called, { ALOUD($names) }.
   *[no] { "" }
}
recorded-promised = { ALOUD($item) }, open, with { ALOUD($owner) }, { part-recorded }
recorded-still-open = { ALOUD($item) }, still open{ GIVEN($reason) ->
    [yes] , because { ALOUD($reason) }
   *[no] { "" }
}, { part-recorded }
recorded-discrepancy = { ALOUD($item) }, { ALOUD($defect) }{ GIVEN($size) ->
    [yes] , { DIGITS($size) } { UNIT($size_unit, $size) }
   *[no] { "" }
}{ GIVEN($place) ->
    [yes] , { ALOUD($place) }
   *[no] { "" }
}, discrepancy, { part-recorded }
recorded-not-inspected = { ALOUD($item) }, not inspected{ GIVEN($reason) ->
    [yes] , because { ALOUD($reason) }
   *[no] { "" }
}, { part-recorded }
recorded-not-applicable = { ALOUD($item) }, not applicable, { part-recorded }
recorded-remark = Remark recorded.
disregarded = { GIVEN($item) ->
    [yes] Last entry disregarded, { ALOUD($item) }.
   *[no] Last call disregarded.
}
reopened = Open again, { ALOUD($names) }.

# --- asking back -------------------------------------------------------------------------

ask-confirm = Confirm, { ALOUD($call) }. Affirm or negative?
ask-confirm-far = Confirm, { ALOUD($call) }. It was { ALOUD($before) } on { WHEN($when) }. Affirm or negative?
ask-confirm-over = Confirm, { ALOUD($call) }, in place of { ALOUD($before) }. Affirm or negative?
ask-either = { GIVEN($call) ->
    [yes] { ALOUD($call) }. { ALOUD($first) }, or, { ALOUD($second) }?
   *[no] Say which. { ALOUD($first) }. Or, { ALOUD($second) }.
}
ask-choice = { GIVEN($call) ->
    [yes] { ALOUD($call) }.
   *[no] { "" }
} First, { ALOUD($first) }. Second, { ALOUD($second) }. Say first or second.
affirmed-neither = Affirm answers one call, and two were read.
ask-digits = { ALOUD($item) }. Say the number digit by digit.
given-up = Call dropped.{ GIVEN($names) ->
    [yes] { "" } Open, { ALOUD($names) }.
   *[no] { "" }
}
ask-again = Say again.
ask-which-side = { ALOUD($item) }. Left or right?
ask-which-item = Say the item.
ask-unit = { DIGITS($value) }. Say the unit, { JOINED($units, " or ") }.
ask-result = { ALOUD($item) }. Say satisfactory or a discrepancy.
ask-state = { ALOUD($item) }. Say { JOINED($states, " or ") }.
ask-reading = { ALOUD($item) }. Say a reading in { JOINED($units, " or ") }.
ask-servicing = { ALOUD($item) }. Say { ALOUD($state) } and a quantity in { JOINED($units, " or ") }.
ask-count = { ALOUD($item) }. Say a count.
ask-count-open = { ALOUD($item) }. { DIGITS($seen) } of { DIGITS($expected) }. { GIVEN($names) ->
    [yes] To be called, { ALOUD($names) }.
   *[no] Say how many.
}
ask-status = { ALOUD($item) }, status { ALOUD($proposed) }? Affirm, or say status and { JOINED($states, " or ") }.
ask-owner = { ALOUD($item) }. Who has it?
ask-reason = { ALOUD($item) }, not inspected. Say the reason.
ask-correction = Correction, go ahead.
ask-remark = Remark, go ahead.
nothing-to-answer = No question is open.
asked-too-late = Too soon, not taken. I ask again.
no-result = That is no result. Say the item and its state.
one-call = One call at a time. Say again.

# --- the second person -------------------------------------------------------------------

second-reading = Second, confirm { ALOUD($item) }. Say the reading.
second-count = Second, confirm { ALOUD($item) }. Say the count.
second-state = Second, confirm { ALOUD($item) }. Say the state.
second-affirm = Second, confirm { ALOUD($item) }, { ALOUD($call) }. Affirm or negative?
second-differs = { ALOUD($item) }. { ALOUD($first) }, against { ALOUD($second) }. Open again.
second-negative = { ALOUD($item) }, negative. Open again.
second-no-answer = That confirms nothing.
second-silent = { ALOUD($item) }, no answer. To be confirmed.
second-pending = To be confirmed, { DIGITS($count) }. First, { ALOUD($names) }.
close-unconfirmed = The walkaround stays open. To be confirmed, { DIGITS($count) }. First, { ALOUD($names) }.
recorded-confirmation = { ALOUD($item) }, confirmed, recorded.

# --- leading -----------------------------------------------------------------------------

item = { ALOUD($station) }. { ALOUD($item) }.
action = Do this, { ALOUD($action) }.
hold = Hold. First, { ALOUD($item) }, by { ALOUD($role) }.
where = { part-last } { part-next }{ GIVEN($next) ->
    [yes] { "" } Open items, { DIGITS($count) }.
   *[no] { "" }
}
open = Open items, { DIGITS($count) }. First, { ALOUD($names) }.
all-closed = No item is open. Say, walkaround complete.
caution-needs = Caution. Still open before { ALOUD($item) }, { ALOUD($names) }.
standing-by = Standing by.
going-on = Going on. { part-last } { part-next }

# --- which one, and how well it is heard -------------------------------------------------

ask-identity = Say, { ALOUD($subject) }, and its number, sign by sign.
identity-differs = { SPELLED($said) } is another { ALOUD($subject) }. Standing by. Say it again there.
identified = { SPELLED($identity) }. Going on. { part-last }{ GIVEN($names) ->
    [yes] { "" } Open again, { ALOUD($names) }.
   *[no] { "" }
} { part-next }

hearing = { $heard ->
    [good] Hearing is good here.
    [quiet] Your voice is very quiet. Move the microphone to your mouth, or turn it up.
    [clipped] Your voice is too loud for the microphone. Turn it down, or move it away.
    [fair] Noise here, some calls will be asked back.
   *[poor] Too loud here. Move away, shield the microphone, or call after the noise. One call in three will be asked back.
}
expired = This walk is older than { DIGITS($hours) } hours. Its results do not count any more, { DIGITS($count) } items are open again.

# --- what earlier records say ------------------------------------------------------------

earlier-walk = Last walk closed { WHEN($when) }{ GIVEN($expired) ->
    [yes] , older than { DIGITS($expired) } hours
   *[no] { "" }
}.
earlier-discrepancy = From { WHEN($when) }, { ALOUD($item) }, { ALOUD($defect) }{ GIVEN($size) ->
    [yes] , { DIGITS($size) } { UNIT($size_unit, $size) }
   *[no] { "" }
}{ GIVEN($place) ->
    [yes] , { ALOUD($place) }
   *[no] { "" }
}, discrepancy{ GIVEN($status) ->
    [yes] , status { ALOUD($status) }
   *[no] { "" }
}.
earlier-sent-back = Sent back { WHEN($when) }, { ALOUD($item) }{ GIVEN($reason) ->
    [yes] , { ALOUD($reason) }
   *[no] { "" }
}.
earlier-skipped = { ALOUD($item) }, not inspected in { DIGITS($times) } of the last { DIGITS($walks) } walks.
seen-before = Seen before, on { WHEN($when) }.
ask-acknowledge = Affirm.

# --- another inspector goes on -----------------------------------------------------------

ask-successor = Handing over. Who takes over? Say your sign, letter by letter.
handed-over = { SPELLED($to) } has the walk.
hand-over-item = { ALOUD($item) }, { ALOUD($known) }, open.
hand-over-count = { ALOUD($item) }. { DIGITS($seen) } of { DIGITS($expected) }.{ GIVEN($names) ->
    [yes] { "" } To be called, { ALOUD($names) }.
   *[no] { "" }
}
hand-over-begun = Begun and open, { DIGITS($count) }. { ALOUD($names) }.
hand-over-discrepancies = Discrepancies, { DIGITS($count) }. { ALOUD($names) }.
hand-over-not-called = Not called yet, { DIGITS($count) }{ GIVEN($names) ->
    [yes] . First, { ALOUD($names) }
   *[no] { "" }
}.

# --- trouble -----------------------------------------------------------------------------

not-recorded = Record failure, { ALOUD($reason) }. Hold your calls.
recording-again = Record works again. Go ahead.
device-lost = Sound device lost. Hold your calls.
device-back = Sound device is back. Go ahead.
device-other = Another microphone is in use. I ask back until you affirm.
sound-lost = Caution. { GIVEN($seconds) ->
    [yes] { DIGITS($seconds) } seconds of sound were lost
   *[no] Some sound was lost
}. Say again what was not read back.
clock-stepped = Caution. The clock was changed.
