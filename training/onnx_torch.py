"""Runs an 8-bit ONNX graph in PyTorch, on a CUDA card or a processor, as plain float32.

Made for Kokoro-82M, whose 8-bit file knows the processor alone: whatever it holds is here and no
more. Operators and their meaning: https://onnx.ai/onnx/operators/ (opset 20), and those of the
domain ``com.microsoft`` in onnxruntime's docs/ContribOperators.md.

- Weights are dequantised once. Activations are not quantised at all: ``DynamicQuantizeLinear``
  hands its input on, with a scale that is fixed (``_STEP``), so that the arithmetic of scales and
  of quantised biases behind it becomes constant.
- What depends on no input is computed when the graph is loaded; scales, biases and the norms over
  time become one operation each.
- Integers, shapes and what follows from them alone stay in NumPy ("host"); all else is a tensor on
  the device. Which is which is known when the graph is loaded. The host waits for the device where
  floats become integers (once, for the durations of the sounds) and for what comes out.
- Each step is a function of a list of slots; a value is let go behind its last use.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import onnx
import torch
import torch.nn.functional as F  # noqa: N812 - reason: everybody's name for it
from numpy.typing import NDArray
from onnx import numpy_helper

Array = NDArray[Any]
Function = Callable[..., Any]

_STEP = 2.0**-12
"""The scale that ``DynamicQuantizeLinear`` claims. Biases are rounded down to multiples of it times
the weights' scale: 4096 times finer than the weights. A power of two, so that floats lose nothing.
"""

_JUST_ABOVE_ZERO = 1e-30

_MS = "com.microsoft"
_FUSED = "training"

_NUMPY: dict[int, np.dtype[Any]] = {
    onnx.TensorProto.FLOAT: np.dtype(np.float32),
    onnx.TensorProto.INT32: np.dtype(np.int32),
    onnx.TensorProto.INT64: np.dtype(np.int64),
    onnx.TensorProto.BOOL: np.dtype(np.bool_),
}


@dataclass(slots=True)
class _Node:
    """One operation; ``inputs`` that are left out are empty."""

    op: str
    inputs: list[str]
    outputs: list[str]
    attributes: dict[str, Any] = field(default_factory=dict)
    domain: str = ""

    def constants(self, known: Mapping[str, Array]) -> list[Array | None]:
        return [known.get(name) for name in self.inputs]


class Graph:
    """An ONNX graph, ready to run.

    Args:
        path: the file; or the model itself.
        device: ``cpu`` or ``cuda:0``, and so on.
        products: convolutions as products of matrices, which need no plan for each new length.

    Raises:
        NotImplementedError: the graph holds what this knows nothing of.
    """

    def __init__(
        self, path: Path | onnx.ModelProto, device: str = "cpu", *, products: bool = False
    ) -> None:
        model = path if isinstance(path, onnx.ModelProto) else onnx.load(str(path))
        self.device = torch.device(device)
        known = {one.name: numpy_helper.to_array(one) for one in model.graph.initializer}
        kinds = {
            one.name: _NUMPY[one.type.tensor_type.elem_type]
            for one in model.graph.input
            if one.name not in known
        }
        wanted = [one.name for one in model.graph.output]
        nodes = [_read(node) for node in model.graph.node]
        nodes = _folded(_unquantised(nodes, known), known)
        nodes = _affine(nodes, known, wanted)
        nodes = _norms(nodes, known, wanted)
        nodes = _multiply_add(nodes, known, wanted)
        for node in nodes:
            if products and node.op in ("Conv", "Convolution"):
                node.attributes = {**node.attributes, "products": True}
        self._build(nodes, known, kinds, wanted)

    def _build(  # noqa: C901 - reason: three kinds of step, and moving between two places
        self,
        nodes: Sequence[_Node],
        known: Mapping[str, Array],
        kinds: Mapping[str, np.dtype[Any]],
        wanted: Sequence[str],
    ) -> None:
        """Give each value its slot, on the host, on the device or on both."""
        slots: dict[tuple[str, bool], int] = {}
        self._blank: list[Any] = []
        steps: list[tuple[Function, list[int], list[int]]] = []
        keep: set[int] = set()

        def slot(name: str, host: bool) -> int:
            if (name, host) not in slots:
                slots[name, host] = len(self._blank)
                self._blank.append(None)
            return slots[name, host]

        def source(name: str, host: bool) -> int:
            """Where a value is found, moved there once if it is not."""
            if (name, host) in slots:
                return slots[name, host]
            place = slot(name, host)
            if name in known:
                self._blank[place] = known[name] if host else self._upload(known[name])
                keep.add(place)
            elif (name, not host) in slots:
                steps.append(
                    (_download if host else self._upload, [slots[name, not host]], [place])
                )
            else:
                raise ValueError(f"{name} comes from nowhere")
            return place

        self._kinds = dict(kinds)
        self._inputs: list[tuple[str, int, bool]] = []
        for name, kind in kinds.items():
            host = kind != np.float32
            self._inputs.append((name, slot(name, host), host))
        nothing = slot("", True)
        for node in nodes:
            given = [name for name in node.inputs if name]
            on_host = node.op == "Shape" or all(
                name in known or (name, True) in slots for name in given
            )
            if node.op != "Shape" and on_host and node.op in _HOST and not node.domain:
                places = [source(name, True) if name else nothing for name in node.inputs]
                function = _HOST[node.op](node, node.constants(known))
            elif node.op == "Shape":
                there = (node.inputs[0], True) in slots
                places = [source(node.inputs[0], there)]
                function, on_host = _shape, True
            else:
                if (node.domain, node.op) not in _DEVICE:
                    raise NotImplementedError(f"{node.domain}:{node.op} of {node.outputs[0]}")
                build, of_host = _DEVICE[node.domain, node.op]
                function, used = build(node, node.constants(known), self.device)
                places = [source(node.inputs[n], n in of_host) for n in used]
                on_host = node.op == "Cast" and node.attributes["to"] in (
                    onnx.TensorProto.INT32,
                    onnx.TensorProto.INT64,
                )
                if on_host:
                    function = _then_download(function)
            steps.append((function, places, [slot(name, on_host) for name in node.outputs]))
        self._outputs = [(name, source(name, (name, True) in slots)) for name in wanted]
        keep.update(place for _, place in self._outputs)
        self.steps = self._timed(steps, keep)

    @staticmethod
    def _timed(
        steps: Sequence[tuple[Function, list[int], list[int]]], keep: set[int]
    ) -> list[tuple[Function, tuple[int, ...], Any, tuple[int, ...]]]:
        """Each step with the slots that nothing behind it needs."""
        timed = []
        seen = set(keep)
        for function, places, results in reversed(steps):
            dead = tuple({place for place in (*places, *results) if place not in seen})
            seen.update(places)
            timed.append(
                (function, tuple(places), results[0] if len(results) == 1 else results, dead)
            )
        return timed[::-1]

    def _upload(self, value: Array) -> torch.Tensor:
        # Copied first: a tensor on a processor would share the memory of what was given.
        return torch.from_numpy(np.array(value, order="C")).to(self.device, non_blocking=True)

    @torch.inference_mode()  # type: ignore[untyped-decorator]
    def run(self, feeds: Mapping[str, Array]) -> list[Array]:
        """The outputs for these inputs.

        Raises:
            KeyError: an input is missing.
        """
        values = self._blank.copy()
        for name, place, host in self._inputs:
            value = np.asarray(feeds[name], dtype=self._kinds[name])
            values[place] = value if host else self._upload(value)
        for function, places, result, dead in self.steps:
            made = function(*[values[place] for place in places])
            if type(result) is int:
                values[result] = made
            else:
                for place, one in zip(result, made, strict=False):
                    values[place] = one
            for place in dead:
                values[place] = None
        return [np.asarray(_download(values[place])) for _, place in self._outputs]


def _download(value: torch.Tensor | Array) -> Array:
    """A value on the host; waits for the device."""
    return value.cpu().numpy() if isinstance(value, torch.Tensor) else np.asarray(value)


def _then_download(function: Function) -> Function:
    return lambda *given: _download(function(*given))


def _shape(value: torch.Tensor | Array) -> Array:
    return np.array(value.shape, dtype=np.int64)


def _read(node: onnx.NodeProto) -> _Node:
    attributes = {}
    for one in node.attribute:
        value = onnx.helper.get_attribute_value(one)
        if isinstance(value, onnx.TensorProto):
            value = numpy_helper.to_array(value)
        attributes[one.name] = value.decode() if isinstance(value, bytes) else value
    domain = "" if node.domain == "ai.onnx" else node.domain
    return _Node(node.op_type, list(node.input), list(node.output), attributes, domain)


# What is done to the graph before it runs ----------------------------------------------------


def _unquantised(nodes: Iterable[_Node], known: dict[str, Array]) -> list[_Node]:
    """The graph with floats in place of 8-bit numbers: weights are constants of floats."""
    left: list[_Node] = []
    same: dict[str, str] = {}
    for node in nodes:
        if node.op == "DynamicQuantizeLinear":
            values, scale, zero = node.outputs
            same[values] = same.get(node.inputs[0], node.inputs[0])
            known[scale], known[zero] = np.array(_STEP, np.float32), np.array(0, np.uint8)
        elif node.op in ("MatMulInteger", "ConvInteger"):
            sound, weights = node.inputs[:2]
            if sound not in same or weights not in known:
                raise NotImplementedError(f"{node.op} of integers not quantised here")
            zero = node.inputs[3] if len(node.inputs) > 3 else ""
            plain = known[weights].astype(np.float32)
            if zero:
                shift = known[zero].astype(np.float32)
                if node.op == "ConvInteger" and shift.ndim:
                    shift = shift.reshape(-1, *[1] * (plain.ndim - 1))
                plain = plain - shift
            name = node.outputs[0] + " weights"
            known[name] = plain / np.float32(_STEP)
            op = "Linear" if node.op == "MatMulInteger" else "Convolution"
            left.append(_Node(op, [same[sound], name], node.outputs, node.attributes, _FUSED))
        elif any(name in same for name in node.inputs):
            raise NotImplementedError(f"{node.op} of 8-bit numbers")
        else:
            left.append(node)
    return left


def _folded(nodes: Iterable[_Node], known: dict[str, Array]) -> list[_Node]:
    """What is left to do with each input: what follows from constants alone becomes known."""
    left: list[_Node] = []
    for node in nodes:
        constants = node.constants(known)
        settled = all(
            one is not None or not name for one, name in zip(constants, node.inputs, strict=True)
        )
        if settled and not node.domain and (node.op in _HOST or node.op == "Shape"):
            function = _shape if node.op == "Shape" else _HOST[node.op](node, constants)
            made = function(*constants)
            parts = made if len(node.outputs) > 1 else [made]
            known.update(zip(node.outputs, map(np.asarray, parts), strict=True))
        else:
            left.append(node)
    return left


def _users(nodes: Sequence[_Node], wanted: Sequence[str]) -> Counter[str]:
    return Counter([name for node in nodes for name in node.inputs] + list(wanted))


def _affine(nodes: Sequence[_Node], known: dict[str, Array], wanted: Sequence[str]) -> list[_Node]:
    """Scales and biases behind convolutions and products with weights, taken into them."""
    users = _users(nodes, wanted)
    next_one = {name: node for node in nodes for name in node.inputs if users[name] == 1}
    gone: set[int] = set()
    for node in nodes:
        if node.domain != _FUSED:
            continue
        weights = known[node.inputs[1]]
        at = -1 if node.op == "Linear" else 0
        size = weights.shape[at]
        scale, bias = np.ones(size), np.zeros(size)
        while (then := next_one.get(node.outputs[0])) is not None and not then.domain:
            if then.op == "Cast" and then.attributes["to"] == onnx.TensorProto.FLOAT:
                pass
            elif then.op in ("Mul", "Add"):
                other = next((known[name] for name in then.inputs if name in known), None)
                vector = None if other is None else _channel(other, node.op, size, weights.ndim)
                if vector is None:
                    break
                if then.op == "Mul":
                    scale, bias = scale * vector, bias * vector
                else:
                    bias = bias + vector
            else:
                break
            gone.add(id(then))
            node.outputs = then.outputs
        scale = scale if at else scale.reshape(-1, *[1] * (weights.ndim - 1))
        known[node.inputs[1]] = (weights * scale).astype(np.float32)
        if bias.any():
            node.inputs.append(node.outputs[0] + " bias")
            known[node.inputs[2]] = bias.astype(np.float32)
    return [node for node in nodes if id(node) not in gone]


def _channel(value: Array, op: str, size: int, rank: int) -> Array | None:
    """A constant as one number for each channel of what comes out; ``None`` if it is not such."""
    if value.size == 1 and value.ndim <= rank:
        return np.full(size, value.ravel()[0], np.float64)
    wanted = (size,) if op == "Linear" else (size, *[1] * (rank - 2))
    shape = value.shape[1:] if value.ndim > len(wanted) and value.shape[0] == 1 else value.shape
    return value.ravel().astype(np.float64) if shape == wanted else None


def _norms(
    nodes: Sequence[_Node], known: Mapping[str, Array], wanted: Sequence[str]
) -> list[_Node]:
    """Values less their mean over time, divided by their deviation, as one operation."""
    users = _users(nodes, wanted)
    made = {name: node for node in nodes for name in node.outputs}
    gone: set[int] = set()

    def parent(node: _Node, at: int, op: str) -> _Node | None:
        one = made.get(node.inputs[at])
        return one if one is not None and one.op == op and not one.domain else None

    def over_time(node: _Node | None) -> bool:
        if node is None or len(node.inputs) < 2 or not node.attributes.get("keepdims", 1):
            return False
        axes = known.get(node.inputs[1])
        return axes is not None and axes.tolist() in ([2], [-1])

    for node in nodes:
        if node.op != "Div" or node.domain:
            continue
        less, root = parent(node, 0, "Sub"), parent(node, 1, "Sqrt")
        add = parent(root, 0, "Add") if root else None
        if less is None or root is None or add is None:
            continue
        little = known.get(add.inputs[1])
        spread = parent(add, 0, "ReduceMean")
        mean = parent(less, 1, "ReduceMean")
        square = parent(spread, 0, "Mul") if spread else None
        if not (over_time(spread) and over_time(mean)) or square is None or little is None:
            continue
        assert spread is not None and mean is not None
        chain = [mean, square, spread, add, root]
        if (
            square.inputs != [less.outputs[0]] * 2
            or mean.inputs[0] != less.inputs[0]
            or little.size != 1
            or users[less.outputs[0]] != 3
            or any(users[one.outputs[0]] != 1 for one in chain)
        ):
            continue
        gone.update(id(one) for one in [*chain, less])
        node.op, node.domain, node.inputs = "Norm", _FUSED, [less.inputs[0]]
        node.attributes = {"epsilon": float(little.item())}
    return [node for node in nodes if id(node) not in gone]


def _multiply_add(
    nodes: Sequence[_Node], known: Mapping[str, Array], wanted: Sequence[str]
) -> list[_Node]:
    """A product that is only added to something, together with the sum."""
    users = _users(nodes, wanted)
    made = {name: node for node in nodes for name in node.outputs}
    order = {id(node): n for n, node in enumerate(nodes)}
    device = _floats(nodes, known)
    gone: set[int] = set()
    for node in nodes:
        if node.op != "Add" or node.domain:
            continue
        for at in (0, 1):
            product = made.get(node.inputs[at])
            if (
                product is not None
                and product.op == "Mul"
                and not product.domain
                and id(product) not in gone
                and users[product.outputs[0]] == 1
                and order[id(product)] < order[id(node)]
                and all(name in device for name in (*product.inputs, node.inputs[1 - at]))
            ):
                gone.add(id(product))
                node.op, node.domain = "MultiplyAdd", _FUSED
                node.inputs = [node.inputs[1 - at], *product.inputs]
                break
    return [node for node in nodes if id(node) not in gone]


def _floats(nodes: Sequence[_Node], known: Mapping[str, Array]) -> set[str]:
    """Values that surely are floats on the device: what follows from weights, and such weights."""
    sure = {name for name, value in known.items() if value.dtype == np.float32 and value.ndim}
    follows = ("Mul", "Add", "Sub", "Div", "Sin", "Pow", "Split", "Unsqueeze", "Transpose")
    found: set[str] = set()
    for node in nodes:
        if node.domain == _FUSED or (
            not node.domain and node.op in follows and any(one in found for one in node.inputs)
        ):
            found.update(node.outputs)
    return sure | found


# Operators on the host -------------------------------------------------------------------------


def _plainly(function: Function) -> Callable[[_Node, list[Array | None]], Function]:
    return lambda _node, _constants: function


def _host_divide(a: Array, b: Array) -> Array:
    """Of integers towards zero, as C does."""
    if np.issubdtype(np.asarray(a).dtype, np.integer):
        return np.trunc(np.true_divide(a, b)).astype(np.asarray(a).dtype)
    return np.divide(a, b)


def _host_reshape(value: Array, shape: Array) -> Array:
    return np.reshape(value, _filled(shape.tolist(), value.shape))


def _filled(shape: Sequence[int], before: Sequence[int]) -> list[int]:
    return [before[n] if size == 0 else size for n, size in enumerate(shape)]


def _host_slice(value: Array, starts: Array, ends: Array, *more: Array) -> Array:
    return value[_pieces(value.ndim, starts, ends, *more)]


def _pieces(
    rank: int, starts: Array, ends: Array, axes: Array | None = None, steps: Array | None = None
) -> tuple[slice, ...]:
    pieces = [slice(None)] * rank
    whole = range(len(starts)) if axes is None else axes.tolist()
    by = [1] * len(starts) if steps is None else steps.tolist()
    for axis, start, end, step in zip(whole, starts.tolist(), ends.tolist(), by, strict=True):
        last = None if step < 0 and end < -(2**31) else end
        pieces[axis] = slice(start, last, step)
    return tuple(pieces)


def _host_unsqueeze(value: Array, axes: Array) -> Array:
    return np.expand_dims(value, tuple(axes.tolist()))


def _host_squeeze(value: Array, axes: Array | None = None) -> Array:
    return np.squeeze(value, None if axes is None else tuple(axes.tolist()))


def _host_split(node: _Node, _constants: list[Array | None]) -> Function:
    axis = node.attributes.get("axis", 0)
    return lambda value, sizes: np.split(value, np.cumsum(sizes)[:-1], axis)


def _host_gather(node: _Node, _constants: list[Array | None]) -> Function:
    axis = node.attributes.get("axis", 0)
    return lambda value, at: np.take(value, at, axis)


def _host_scatter(data: Array, at: Array, values: Array) -> Array:
    made = np.array(data)
    made[tuple(np.moveaxis(at, -1, 0))] = values
    return made


def _host_reduce(function: Function) -> Callable[[_Node, list[Array | None]], Function]:
    def build(node: _Node, _constants: list[Array | None]) -> Function:
        keep = bool(node.attributes.get("keepdims", 1))

        def reduce(value: Array, axes: Array | None = None) -> Array:
            over = None if axes is None else tuple(axes.tolist())
            made: Array = function(value, axis=over, keepdims=keep)
            return made.astype(value.dtype)

        return reduce

    return build


def _host_cast(node: _Node, _constants: list[Array | None]) -> Function:
    kind = _NUMPY[node.attributes["to"]]
    return lambda value: np.asarray(value).astype(kind)


def _host_filled(node: _Node, _constants: list[Array | None]) -> Function:
    value = node.attributes.get("value", np.zeros(1, np.float32))
    return lambda shape: np.full(shape.tolist(), value[0], value.dtype)


def _host_cumsum(value: Array, axis: Array) -> Array:
    return np.cumsum(value, int(axis), dtype=value.dtype)


def _host_dequantise(value: Array, scale: Array, zero: Array | None = None) -> Array:
    shift = np.float32(0) if zero is None else zero.astype(np.float32)
    return ((value.astype(np.float32) - shift) * scale).astype(np.float32)


def _host_clip(value: Array, low: Array | None = None, high: Array | None = None) -> Array:
    return np.clip(value, low, high)


def _expanded(before: Sequence[int], wanted: Sequence[int]) -> tuple[int, ...]:
    return np.broadcast_shapes(tuple(before), tuple(wanted))


_HOST: dict[str, Callable[[_Node, list[Array | None]], Function]] = {
    "Add": _plainly(np.add),
    "And": _plainly(np.logical_and),
    "Cast": _host_cast,
    "Clip": _plainly(_host_clip),
    "Concat": lambda node, _: lambda *values: np.concatenate(values, node.attributes["axis"]),
    "ConstantOfShape": _host_filled,
    "CumSum": _plainly(_host_cumsum),
    "DequantizeLinear": _plainly(_host_dequantise),
    "Div": _plainly(_host_divide),
    "Equal": _plainly(np.equal),
    "Expand": _plainly(
        lambda value, to: np.broadcast_to(value, _expanded(value.shape, to.tolist()))
    ),
    "Floor": _plainly(np.floor),
    "Gather": _host_gather,
    "Greater": _plainly(np.greater),
    "GreaterOrEqual": _plainly(np.greater_equal),
    "Less": _plainly(np.less),
    "Mul": _plainly(np.multiply),
    "NonZero": _plainly(lambda value: np.array(np.nonzero(value), dtype=np.int64)),
    "Range": _plainly(lambda a, b, step: np.arange(a.item(), b.item(), step.item(), dtype=a.dtype)),
    "ReduceMean": _host_reduce(np.mean),
    "ReduceSum": _host_reduce(np.sum),
    "Reshape": _plainly(_host_reshape),
    "Round": _plainly(np.round),
    "ScatterND": _plainly(_host_scatter),
    "Slice": _plainly(_host_slice),
    "Split": _host_split,
    "Sqrt": _plainly(np.sqrt),
    "Squeeze": _plainly(_host_squeeze),
    "Sub": _plainly(np.subtract),
    "Transpose": lambda node, _: lambda value: np.transpose(value, node.attributes.get("perm")),
    "Unsqueeze": _plainly(_host_unsqueeze),
    "Where": _plainly(np.where),
}


# Operators on the device -------------------------------------------------------------------------
# Each is built with its constants and gives the function and which inputs it takes.

Built = tuple[Function, Sequence[int]]
Builder = Callable[[_Node, list[Array | None], torch.device], Built]


def _needed(value: Array | None, node: _Node) -> Array:
    """A constant that must be one: otherwise the host would have to wait, or to guess."""
    if value is None:
        raise NotImplementedError(f"{node.op} of {node.outputs[0]} by what is not constant")
    return value


def _unary(function: Function) -> Builder:
    return lambda _node, _constants, _device: (function, [0])


def _binary(function: Function) -> Builder:
    """Of two values; a constant that is one number goes along as a number."""

    def build(_node: _Node, constants: list[Array | None], _device: torch.device) -> Built:
        first, second = constants
        if second is not None and second.ndim == 0:
            number = second.item()
            return (lambda a: function(a, number)), [0]
        if first is not None and first.ndim == 0:
            other = first.item()
            return (lambda b: function(other, b)), [1]
        return function, [0, 1]

    return build


def _operator(name: str) -> Function:
    return {
        "add": lambda a, b: a + b,
        "sub": lambda a, b: a - b,
        "mul": lambda a, b: a * b,
        "div": lambda a, b: a / b,
        "gt": lambda a, b: a > b,
        "ge": lambda a, b: a >= b,
        "lt": lambda a, b: a < b,
        "eq": lambda a, b: a == b,
    }[name]


def _power(_node: _Node, constants: list[Array | None], _device: torch.device) -> Built:
    by = constants[1]
    if by is not None and by.size == 1 and by.item() == 2:
        return (lambda value: value * value), [0]
    return torch.pow, [0, 1]


def _cast(node: _Node, _constants: list[Array | None], _device: torch.device) -> Built:
    kind = {
        onnx.TensorProto.FLOAT: torch.float32,
        onnx.TensorProto.BOOL: torch.bool,
        onnx.TensorProto.INT32: torch.int32,
        onnx.TensorProto.INT64: torch.int64,
    }[node.attributes["to"]]
    return (lambda value: value.to(kind)), [0]


def _clip(node: _Node, constants: list[Array | None], _device: torch.device) -> Built:
    bounds = [None, None]
    for n in (1, 2):
        if len(node.inputs) > n and node.inputs[n]:
            bounds[n - 1] = _needed(constants[n], node).item()
    low, high = bounds
    return (lambda value: torch.clamp(value, low, high)), [0]


def _linear(node: _Node, _constants: list[Array | None], _device: torch.device) -> Built:
    if len(node.inputs) == 2:
        return torch.matmul, [0, 1]

    def with_bias(value: torch.Tensor, weights: torch.Tensor, bias: torch.Tensor) -> torch.Tensor:
        return F.linear(value, weights.t(), bias)

    return with_bias, [0, 1, 2]


def _span(node: _Node) -> tuple[Any, int, Any, int]:
    """Stride, padding, dilation, groups.

    Raises:
        NotImplementedError: padding that differs between the ends, or that is to be found out.
    """
    given = node.attributes
    if given.get("auto_pad", "NOTSET") != "NOTSET":
        raise NotImplementedError("auto_pad")
    pads = given.get("pads", [0, 0])
    if len(pads) != 2 or pads[0] != pads[1]:
        raise NotImplementedError(f"padding {pads}")
    stride, dilation = given.get("strides", [1]), given.get("dilations", [1])
    return stride[0], pads[0], dilation[0], given.get("group", 1)


def _convolution(node: _Node, _constants: list[Array | None], _device: torch.device) -> Built:
    stride, padding, dilation, groups = _span(node)

    def multiply(
        value: torch.Tensor, weights: torch.Tensor, bias: torch.Tensor | None = None
    ) -> torch.Tensor:
        reach = (weights.shape[-1] - 1) * dilation + 1
        if padding:
            value = F.pad(value, (padding, padding))
        taken = value.unfold(-1, reach, stride)[..., ::dilation].transpose(-1, -2)
        made = torch.matmul(weights.flatten(1), taken.flatten(1, 2))
        return made if bias is None else made + bias.unsqueeze(-1)

    if node.attributes.get("products") and groups == 1:
        return multiply, range(len(node.inputs))

    def convolve(
        value: torch.Tensor, weights: torch.Tensor, bias: torch.Tensor | None = None
    ) -> torch.Tensor:
        return torch.conv1d(value, weights, bias, stride, padding, dilation, groups)

    return convolve, range(len(node.inputs))


def _transposed(node: _Node, _constants: list[Array | None], _device: torch.device) -> Built:
    stride, padding, dilation, groups = _span(node)
    more = node.attributes.get("output_padding", [0])[0]

    def convolve(
        value: torch.Tensor, weights: torch.Tensor, bias: torch.Tensor | None = None
    ) -> torch.Tensor:
        return torch.conv_transpose1d(value, weights, bias, stride, padding, more, groups, dilation)

    return convolve, range(len(node.inputs))


def _norm(node: _Node, _constants: list[Array | None], _device: torch.device) -> Built:
    epsilon = node.attributes["epsilon"]
    return (lambda value: torch.layer_norm(value, value.shape[-1:], None, None, epsilon)), [0]


def _layer_norm(node: _Node, _constants: list[Array | None], _device: torch.device) -> Built:
    epsilon = node.attributes.get("epsilon", 1e-5)
    if node.attributes.get("axis", -1) != -1 or len(node.outputs) > 1:
        raise NotImplementedError("LayerNormalization but over the last axis")

    def norm(
        value: torch.Tensor, scale: torch.Tensor, bias: torch.Tensor | None = None
    ) -> torch.Tensor:
        return torch.layer_norm(value, scale.shape, scale, bias, epsilon)

    return norm, range(len(node.inputs))


def _skip_norm(node: _Node, _constants: list[Array | None], _device: torch.device) -> Built:
    epsilon = node.attributes.get("epsilon", 1e-12)
    if len(node.inputs) != 4 or any(node.outputs[1:]):
        raise NotImplementedError("SkipLayerNormalization but of four inputs")

    def norm(
        value: torch.Tensor, skip: torch.Tensor, scale: torch.Tensor, bias: torch.Tensor
    ) -> torch.Tensor:
        return torch.layer_norm(value + skip, scale.shape, scale, bias, epsilon)

    return norm, range(4)


def _gelu(node: _Node, _constants: list[Array | None], _device: torch.device) -> Built:
    if len(node.inputs) == 1:
        return (lambda value: F.gelu(value, approximate="tanh")), [0]
    return (lambda value, bias: F.gelu(value + bias, approximate="tanh")), [0, 1]


def _fused_matmul(node: _Node, _constants: list[Array | None], _device: torch.device) -> Built:
    given = node.attributes
    if given.get("transBatchA") or given.get("transBatchB"):
        raise NotImplementedError("FusedMatMul with batches transposed")
    turn_a, turn_b = given.get("transA", 0), given.get("transB", 0)
    factor = given.get("alpha", 1.0)

    def product(a: torch.Tensor, b: torch.Tensor) -> torch.Tensor:
        a = a.transpose(-1, -2) if turn_a else a
        b = b.transpose(-1, -2) if turn_b else b
        return torch.matmul(a, b) if factor == 1 else torch.matmul(a, b) * factor

    return product, [0, 1]


def _permuted(node: _Node, _constants: list[Array | None], _device: torch.device) -> Built:
    order = node.attributes.get("perm")
    if order is None:
        return (lambda value: value.permute(*range(value.ndim - 1, -1, -1))), [0]
    return (lambda value: value.permute(order)), [0]


def _reshape(node: _Node, constants: list[Array | None], _device: torch.device) -> Built:
    if node.attributes.get("allowzero"):
        raise NotImplementedError("Reshape with allowzero")
    if constants[1] is not None and 0 not in (shape := constants[1].tolist()):
        return (lambda value: value.reshape(shape)), [0]
    return (lambda value, to: value.reshape(_filled(to.tolist(), value.shape))), [0, 1]


def _unsqueeze(node: _Node, constants: list[Array | None], _device: torch.device) -> Built:
    axes = _needed(constants[1], node).tolist()
    if len(axes) == 1:
        axis = axes[0]
        return (lambda value: value.unsqueeze(axis)), [0]

    def unsqueeze(value: torch.Tensor) -> torch.Tensor:
        rank = value.ndim + len(axes)
        for one in sorted(axis % rank for axis in axes):
            value = value.unsqueeze(one)
        return value

    return unsqueeze, [0]


def _squeeze(node: _Node, constants: list[Array | None], _device: torch.device) -> Built:
    axes = tuple(_needed(constants[1], node).tolist())
    return (lambda value: value.squeeze(axes)), [0]


def _expand(_node: _Node, _constants: list[Array | None], _device: torch.device) -> Built:
    return (lambda value, to: value.expand(_expanded(value.shape, to.tolist()))), [0, 1]


def _split(node: _Node, constants: list[Array | None], _device: torch.device) -> Built:
    sizes, axis = _needed(constants[1], node).tolist(), node.attributes.get("axis", 0)
    return (lambda value: torch.split(value, sizes, axis)), [0]


def _slice(node: _Node, constants: list[Array | None], _device: torch.device) -> Built:
    steps = constants[4] if len(node.inputs) > 4 else None
    if steps is not None and (steps < 1).any():
        raise NotImplementedError("Slice backwards")
    if len(node.inputs) > 4 and steps is None:
        raise NotImplementedError("Slice by steps that are not constant")

    def piece(value: torch.Tensor, *given: Array) -> torch.Tensor:
        return value[_pieces(value.ndim, *given)]

    return piece, range(len(node.inputs))


def _gather(node: _Node, constants: list[Array | None], _device: torch.device) -> Built:
    axis, at = node.attributes.get("axis", 0), constants[1]
    if at is not None and at.ndim == 0:
        index = int(at)
        return (lambda value: value.select(axis, index)), [0]

    def gather(value: torch.Tensor, where: torch.Tensor) -> torch.Tensor:
        size = value.shape[axis]
        where = torch.where(where < 0, where + size, where)
        made = value.index_select(axis, where.reshape(-1))
        along = axis % value.ndim
        return made.reshape(*value.shape[:along], *where.shape, *value.shape[along + 1 :])

    return gather, [0, 1]


def _scatter(node: _Node, _constants: list[Array | None], _device: torch.device) -> Built:
    if node.attributes.get("reduction", "none") != "none":
        raise NotImplementedError("ScatterND with reduction")

    def scatter(data: torch.Tensor, at: torch.Tensor, values: torch.Tensor) -> torch.Tensor:
        return data.index_put(at.unbind(-1), values)

    return scatter, [0, 1, 2]


def _reduce(name: str) -> Builder:
    def build(node: _Node, constants: list[Array | None], _device: torch.device) -> Built:
        axes = _needed(constants[1], node).tolist()
        keep = bool(node.attributes.get("keepdims", 1))
        if name == "mean":
            return (lambda value: value.mean(axes, keep)), [0]
        return (lambda value: value.sum(axes, keep)), [0]

    return build


def _cumsum(node: _Node, constants: list[Array | None], _device: torch.device) -> Built:
    if node.attributes.get("exclusive") or node.attributes.get("reverse"):
        raise NotImplementedError("CumSum, exclusive or reverse")
    axis = int(_needed(constants[1], node))
    return (lambda value: torch.cumsum(value, axis)), [0]


def _resize(node: _Node, constants: list[Array | None], _device: torch.device) -> Built:
    """Along the last of three axes; to floor(size times scale), and by the scale that is given."""
    scales = _needed(constants[2], node).astype(np.float32)
    if len(scales) != 3 or scales[0] != 1 or scales[1] != 1 or any(node.inputs[3:]):
        raise NotImplementedError(f"Resize by {scales}")
    scale, given = scales[2], node.attributes
    how = (
        given.get("mode", "nearest"),
        given.get("coordinate_transformation_mode", "half_pixel"),
        given.get("nearest_mode", "round_prefer_floor"),
    )

    def size(value: torch.Tensor) -> list[int]:
        return [int(np.floor(np.float32(value.shape[-1]) * scale))]

    if how == ("nearest", "asymmetric", "floor") and scale == int(scale):
        times = int(scale)
        return (lambda value: value.unsqueeze(-1).expand(-1, -1, -1, times).flatten(-2)), [0]
    if how[:2] == ("linear", "half_pixel"):
        return (
            lambda value: torch.ops.aten.upsample_linear1d(value, size(value), False, float(scale)),
            [0],
        )
    raise NotImplementedError(f"Resize {how}")


def _pad(node: _Node, constants: list[Array | None], _device: torch.device) -> Built:
    pads = _needed(constants[1], node).tolist()
    if len(pads) != 6 or any(pads[n] for n in (0, 1, 3, 4)) or any(node.inputs[2:]):
        raise NotImplementedError(f"Pad by {pads}")
    mode, ends = node.attributes.get("mode", "constant"), (pads[2], pads[5])
    return (lambda value: F.pad(value, ends, mode=mode)), [0]


def _stft(node: _Node, constants: list[Array | None], device: torch.device) -> Built:
    """As a product with a matrix: frames are short, and no plan must be made for each length.

    Imaginary parts that are zero become ``_JUST_ABOVE_ZERO``. Kokoro's graph takes the angle of a
    negative number whose imaginary part is zero for -pi, but was trained with +pi (the arc tangent
    of two arguments has it so), and hears the difference: its speech is a sixth fainter.
    """
    step = int(_needed(constants[1], node))
    window = _needed(constants[2], node).astype(np.float64)
    width = len(window)
    if not node.attributes.get("onesided", 1) or (
        len(node.inputs) > 3 and constants[3] is not None and int(constants[3]) != width
    ):
        raise NotImplementedError("STFT but of the window's length and one-sided")
    # Reduced before the sine is taken, so that what is zero is zero.
    turns = np.outer(np.arange(width), np.arange(width // 2 + 1)) % width
    sines = np.where(turns * 2 % width == 0, 0.0, np.sin(2 * np.pi * turns / width))
    parts = np.stack([np.cos(2 * np.pi * turns / width), -sines], axis=-1)
    matrix = torch.from_numpy(
        (window[:, None, None] * parts).reshape(width, -1).astype(np.float32)
    ).to(device)
    zeros = np.zeros((width // 2 + 1, 2), np.float32)
    zeros[(turns * 2 % width == 0).all(axis=0), 1] = _JUST_ABOVE_ZERO
    above = torch.from_numpy(zeros).to(device)

    def transform(value: torch.Tensor) -> torch.Tensor:
        frames = value.squeeze(-1).unfold(-1, width, step)
        return torch.matmul(frames, matrix).unflatten(-1, (-1, 2)) + above

    return transform, [0]


def _lstm(node: _Node, constants: list[Array | None], device: torch.device) -> Built:
    """ONNX orders the gates input, output, forget, cell; PyTorch input, forget, cell, output."""
    size = node.attributes["hidden_size"]
    if node.attributes.get("direction") != "bidirectional" or node.attributes.get("input_forget"):
        raise NotImplementedError("DynamicQuantizeLSTM but in both directions")
    if any(node.attributes.get(one) for one in ("activations", "clip")) or (
        node.inputs[4] or node.inputs[7]
    ):
        raise NotImplementedError("DynamicQuantizeLSTM with lengths, peepholes, clip, activations")

    def weights(at: int) -> Array:
        """Shape (2, inputs, 4 * size), dequantised."""
        scale, zero = (_needed(constants[n], node) for n in (8 + at * 2, 9 + at * 2))
        plain = _needed(constants[1 + at], node).astype(np.float32)
        return (plain - _each(zero.astype(np.float32))) * _each(scale)

    def _each(value: Array) -> Array:
        return value.reshape(2, 1, -1)

    def ordered(value: Array) -> torch.Tensor:
        gates = value.reshape(4, size, *value.shape[1:])[[0, 2, 3, 1]]
        return torch.from_numpy(np.ascontiguousarray(gates.reshape(value.shape)))

    over, back = weights(0), weights(1)
    network = torch.nn.LSTM(over.shape[1], size, bidirectional=True, device=device)
    bias = _needed(constants[3], node).reshape(2, 2, 4 * size)
    with torch.no_grad():
        for way, end in enumerate(("", "_reverse")):
            getattr(network, f"weight_ih_l0{end}").copy_(ordered(over[way].T))
            getattr(network, f"weight_hh_l0{end}").copy_(ordered(back[way].T))
            getattr(network, f"bias_ih_l0{end}").copy_(ordered(bias[way, 0]))
            getattr(network, f"bias_hh_l0{end}").copy_(ordered(bias[way, 1]))
    network = network.eval().requires_grad_(False)

    def listen(value: torch.Tensor, *state: torch.Tensor) -> tuple[torch.Tensor, ...]:
        made, (hidden, cell) = network(value, state or None)
        steps, batch = value.shape[:2]
        return made.reshape(steps, batch, 2, size).transpose(1, 2), hidden, cell

    return listen, [0, 5, 6] if node.inputs[5] else [0]


def _leaky(node: _Node, _constants: list[Array | None], _device: torch.device) -> Built:
    slope = node.attributes.get("alpha", 0.01)
    return (lambda value: F.leaky_relu(value, slope)), [0]


def _softmax(node: _Node, _constants: list[Array | None], _device: torch.device) -> Built:
    axis = node.attributes.get("axis", -1)
    return (lambda value: torch.softmax(value, axis)), [0]


def _concat(node: _Node, _constants: list[Array | None], _device: torch.device) -> Built:
    axis = node.attributes["axis"]
    return (lambda *values: torch.cat(values, axis)), range(len(node.inputs))


_DEVICE: dict[tuple[str, str], tuple[Builder, frozenset[int]]] = {
    (domain, op): (builder, frozenset(of_host))
    for domain, op, builder, of_host in [
        ("", "Add", _binary(_operator("add")), ()),
        ("", "And", _binary(torch.logical_and), ()),
        ("", "Atan", _unary(torch.atan), ()),
        ("", "Cast", _cast, ()),
        ("", "Clip", _clip, ()),
        ("", "Concat", _concat, ()),
        ("", "Conv", _convolution, ()),
        ("", "ConvTranspose", _transposed, ()),
        ("", "Cos", _unary(torch.cos), ()),
        ("", "CumSum", _cumsum, ()),
        ("", "Div", _binary(_operator("div")), ()),
        ("", "Equal", _binary(_operator("eq")), ()),
        ("", "Exp", _unary(torch.exp), ()),
        ("", "Expand", _expand, (1,)),
        ("", "Floor", _unary(torch.floor), ()),
        ("", "Gather", _gather, ()),
        ("", "Greater", _binary(_operator("gt")), ()),
        ("", "GreaterOrEqual", _binary(_operator("ge")), ()),
        ("", "LayerNormalization", _layer_norm, ()),
        ("", "LeakyRelu", _leaky, ()),
        ("", "Less", _binary(_operator("lt")), ()),
        ("", "MatMul", lambda _node, _constants, _device: (torch.matmul, [0, 1]), ()),
        ("", "Mul", _binary(_operator("mul")), ()),
        ("", "Pad", _pad, ()),
        ("", "Pow", _power, ()),
        ("", "ReduceMean", _reduce("mean"), ()),
        ("", "ReduceSum", _reduce("sum"), ()),
        ("", "Reshape", _reshape, (1,)),
        ("", "Resize", _resize, ()),
        ("", "Round", _unary(torch.round), ()),
        ("", "STFT", _stft, ()),
        ("", "ScatterND", _scatter, ()),
        ("", "Sigmoid", _unary(torch.sigmoid), ()),
        ("", "Sin", _unary(torch.sin), ()),
        ("", "Slice", _slice, (1, 2, 3, 4)),
        ("", "Softmax", _softmax, ()),
        ("", "Split", _split, ()),
        ("", "Sqrt", _unary(torch.sqrt), ()),
        ("", "Squeeze", _squeeze, ()),
        ("", "Sub", _binary(_operator("sub")), ()),
        ("", "Tanh", _unary(torch.tanh), ()),
        ("", "Transpose", _permuted, ()),
        ("", "Unsqueeze", _unsqueeze, ()),
        ("", "Where", lambda _node, _constants, _device: (torch.where, [0, 1, 2]), ()),
        (_MS, "DynamicQuantizeLSTM", _lstm, ()),
        (_MS, "FastGelu", _gelu, ()),
        (_MS, "FusedMatMul", _fused_matmul, ()),
        (_MS, "SkipLayerNormalization", _skip_norm, ()),
        (_FUSED, "Convolution", _convolution, ()),
        (_FUSED, "Linear", _linear, ()),
        (
            _FUSED,
            "MultiplyAdd",
            lambda _node, _constants, _device: (torch.addcmul, [0, 1, 2]),
            (),
        ),
        (_FUSED, "Norm", _norm, ()),
    ]
}
"""By domain and name: what builds it, and which inputs it wants on the host."""
