"""The interpreter against others: onnx's reference implementation, and onnxruntime for the domain
``com.microsoft``, which the former knows nothing of. Neither is ours."""

from typing import Any

import numpy as np
import pytest

torch = pytest.importorskip("torch", reason="training needs PyTorch, which nothing else does")
onnx = pytest.importorskip("onnx", reason="training needs onnx, which nothing else does")

import onnxruntime  # noqa: E402 - reason: after the skip
from onnx import TensorProto, helper, numpy_helper  # noqa: E402 - reason: after the skip
from onnx.reference import ReferenceEvaluator  # noqa: E402 - reason: after the skip

from training.onnx_torch import Graph  # noqa: E402 - reason: after the skip

MS = "com.microsoft"
RANDOM = np.random.default_rng(1)
KINDS = {
    np.dtype(np.float32): TensorProto.FLOAT,
    np.dtype(np.int64): TensorProto.INT64,
    np.dtype(np.bool_): TensorProto.BOOL,
}


def node(op: str, inputs: str, outputs: str = "y", domain: str = "", **attributes: Any) -> Any:
    """One operation; names are apart by spaces, and ``-`` is an input left out."""
    names = ["" if name == "-" else name for name in inputs.split()]
    return helper.make_node(op, names, outputs.split(), domain=domain, **attributes)


def model(
    nodes: list[Any], feeds: dict[str, Any], constants: dict[str, Any], out: str = "y"
) -> Any:
    inputs = [helper.make_tensor_value_info(n, KINDS[v.dtype], v.shape) for n, v in feeds.items()]
    weights = [numpy_helper.from_array(np.asarray(v), n) for n, v in constants.items()]
    graph = helper.make_graph(
        nodes, "g", inputs, [helper.make_tensor_value_info(out, TensorProto.FLOAT, None)], weights
    )
    imports = [helper.make_opsetid("", 20), helper.make_opsetid(MS, 1)]
    return helper.make_model(graph, opset_imports=imports, ir_version=9)


def floats(*shape: int) -> Any:
    return RANDOM.standard_normal(shape).astype(np.float32)


def whole(*shape: int) -> Any:
    """Whole numbers from 0 to 255, both there: 8-bit activations hold them exactly."""
    made = RANDOM.integers(0, 256, shape).astype(np.float32)
    made.flat[0], made.flat[1] = 0, 255
    return made


def check(nodes: list[Any], feeds: dict[str, Any], constants: dict[str, Any], near: float) -> None:
    """As onnx's reference implementation has it."""
    made = model(nodes, feeds, constants)
    expected = ReferenceEvaluator(made).run(None, feeds)[0]
    for products in (False, True):
        found = Graph(made, products=products).run(feeds)[0]
        assert found.shape == expected.shape
        assert found == pytest.approx(expected, abs=near, rel=1e-5)


def ints(*values: int) -> Any:
    return np.array(values, dtype=np.int64)


QUANTISED = node("DynamicQuantizeLinear", "x", "q s z")


@pytest.mark.parametrize("zero", [np.arange(5, dtype=np.int8), np.array(3, np.int8)])
def test_a_product_of_8_bit_numbers(zero):
    constants = {
        "w": RANDOM.integers(-128, 128, (6, 5)).astype(np.int8),
        "wz": zero,
        "ws": np.float32(0.01) + RANDOM.random(5).astype(np.float32) / 100,
        "b": floats(5),
    }
    nodes = [
        QUANTISED,
        node("MatMulInteger", "q w z wz", "p"),
        node("Mul", "s ws", "t"),
        node("Cast", "p", "f", to=TensorProto.FLOAT),
        node("Mul", "f t", "m"),
        node("Add", "b m"),
    ]
    check(nodes, {"x": whole(1, 4, 6)}, constants, 1e-3)


def test_a_convolution_of_8_bit_numbers_with_its_bias():
    """The bias is rounded down to whole steps of the scales' product by the reference alone: what
    is found may lie above it by one step, and not more."""
    scale = np.float32(0.003)
    constants = {
        "w": RANDOM.integers(0, 256, (3, 2, 3)).astype(np.uint8),
        "wz": np.array(120, np.uint8),
        "ws": scale,
        "b": floats(3),
        "shape": ints(1, -1, 1),
    }
    nodes = [
        QUANTISED,
        node("ConvInteger", "q w z wz", "p", pads=[2, 2], dilations=[2], strides=[1], group=1,
             kernel_shape=[3]),
        node("Mul", "s ws", "t"),
        node("Div", "b t", "d"),
        node("Floor", "d", "e"),
        node("Cast", "e", "i", to=TensorProto.INT32),
        node("Reshape", "i shape", "r"),
        node("Add", "p r", "a"),
        node("Cast", "a", "f", to=TensorProto.FLOAT),
        node("Mul", "f t"),
    ]  # fmt: skip
    feeds = {"x": whole(1, 2, 40)}
    made = model(nodes, feeds, constants)
    expected = ReferenceEvaluator(made).run(None, feeds)[0]
    for products in (False, True):
        above = Graph(made, products=products).run(feeds)[0] - expected
        assert above.min() > -1e-3 and above.max() < scale + 1e-3


def test_integers_stay_on_the_host_and_durations_come_there():
    """How Kokoro spreads sounds over frames: durations, sums, a table of ones and zeros."""
    nodes = [
        node("Round", "x", "r"),
        node("Clip", "r low", "c"),
        node("Cast", "c", "d", to=TensorProto.INT64),
        node("CumSum", "d axis", "ends"),
        node("ReduceSum", "d", "all", keepdims=0),
        node("Range", "nought all one", "frames"),
        node("Unsqueeze", "ends last", "e"),
        node("Sub", "ends d", "starts"),
        node("Unsqueeze", "starts last", "b"),
        node("Less", "frames e", "before"),
        node("GreaterOrEqual", "frames b", "behind"),
        node("And", "before behind", "in"),
        node("Cast", "in", "table", to=TensorProto.FLOAT),
        node("MatMul", "weights table"),
    ]
    constants = {
        "low": np.float32(1),
        "axis": np.array(0, np.int64),
        "nought": np.array(0, np.int64),
        "one": np.array(1, np.int64),
        "last": ints(-1),
        "weights": floats(3, 4),
    }
    check(nodes, {"x": np.array([0.2, 2.5, 3.5, 1.4], np.float32)}, constants, 1e-5)


@pytest.mark.parametrize(
    ("nodes", "shape", "constants"),
    [
        (
            [node("Slice", "x a b c d")],
            (2, 9),
            {"a": ints(-8, 1), "b": ints(2**62, -1), "c": ints(1, 0), "d": ints(3, 1)},
        ),
        (
            [node("Slice", "x a b c")],
            (2, 9),
            {"a": ints(2), "b": ints(-2), "c": ints(-1)},
        ),
        (
            [node("Resize", "x - k", mode="nearest", nearest_mode="floor",
                  coordinate_transformation_mode="asymmetric")],
            (1, 2, 7),
            {"k": np.array([1, 1, 3], np.float32)},
        ),
        ([node("Pad", "x k", mode="reflect")], (1, 2, 7), {"k": ints(0, 0, 3, 0, 0, 2)}),
        ([node("Gather", "x k", axis=1)], (2, 5, 3), {"k": np.array([[1, -1], [0, 4]])}),
        ([node("Gather", "x k", axis=1)], (2, 5, 3), {"k": np.array(-2)}),
        ([node("ScatterND", "x k v")], (2, 5),
         {"k": np.array([[[1, 0], [0, 4]]]), "v": floats(1, 2)}),
        ([node("Split", "x k", "a b", axis=1), node("Mul", "a b")], (1, 6), {"k": ints(3, 3)}),
        ([node("Transpose", "x", "t", perm=[0, 2, 1]), node("Reshape", "t k")], (2, 3, 4),
         {"k": ints(0, -1)}),
        ([node("LayerNormalization", "x k b", axis=-1, epsilon=1e-5)], (2, 3, 8),
         {"k": floats(8), "b": floats(8)}),
        ([node("LeakyRelu", "x", alpha=0.2)], (2, 3), {}),
        ([node("CumSum", "x k")], (1, 6, 2), {"k": np.array(1, np.int32)}),
        ([node("Pow", "x k", "p"), node("Mul", "a p", "m"), node("Add", "x m")], (1, 3, 5),
         {"k": np.float32(2), "a": floats(1, 3, 1)}),
        ([node("Shape", "x", "s"), node("ConstantOfShape", "s", "c"), node("Add", "c x")],
         (2, 3), {}),
        ([node("ConvTranspose", "x k b", strides=[2], pads=[1, 1], output_padding=[1],
               kernel_shape=[3])], (1, 2, 6), {"k": floats(2, 3, 3), "b": floats(3)}),
        ([node("Conv", "x k b", strides=[2], pads=[3, 3], kernel_shape=[4])], (1, 2, 11),
         {"k": floats(3, 2, 4), "b": floats(3)}),
        ([node("Greater", "x k", "g"), node("Where", "g x k")], (3, 3), {"k": np.float32(0.1)}),
        ([node("Softmax", "x", axis=-1)], (2, 5), {}),
    ],
    ids=lambda given: "-".join(one.op_type for one in given) if isinstance(given, list) else "",
)  # fmt: skip
def test_one_operation(nodes, shape, constants):
    check(nodes, {"x": floats(*shape)}, constants, 1e-5)


def test_the_norm_over_time_is_one_step():
    nodes = [
        node("ReduceMean", "x axis", "m", keepdims=1),
        node("Sub", "x m", "d"),
        node("Mul", "d d", "dd"),
        node("ReduceMean", "dd axis", "v", keepdims=1),
        node("Add", "v little", "w"),
        node("Sqrt", "w", "r"),
        node("Div", "d r"),
    ]
    feeds, constants = {"x": floats(1, 3, 50)}, {"axis": ints(2), "little": np.float32(1e-5)}
    check(nodes, feeds, constants, 1e-4)
    assert len(Graph(model(nodes, feeds, constants)).steps) == 1


def test_the_short_time_fourier_transform():
    width = 20
    window = np.hanning(width + 1)[:-1].astype(np.float32)
    constants = {"step": np.array(5), "w": window, "n": np.array(width)}
    check([node("STFT", "x step w n")], {"x": floats(1, 200, 1)}, constants, 1e-4)


def test_a_linear_resize_by_a_third_and_by_three():
    """Only along time; onnxruntime, as the reference implementation resizes differently where a
    scale is no whole number."""
    for scale in (1 / 3, 3.0):
        feeds = {"x": floats(1, 2, 12)}
        nodes = [
            node("Resize", "x - k", mode="linear", coordinate_transformation_mode="half_pixel")
        ]
        agree(model(nodes, feeds, {"k": np.array([1, 1, scale], np.float32)}), feeds, 1e-4)


def agree(made: Any, feeds: dict[str, Any], near: float) -> None:
    """As onnxruntime has it."""
    session = onnxruntime.InferenceSession(
        made.SerializeToString(), providers=["CPUExecutionProvider"]
    )
    expected = session.run(None, feeds)[0]
    assert Graph(made).run(feeds)[0] == pytest.approx(expected, abs=near)


def test_the_fused_operations():
    feeds = {"x": floats(1, 4, 8)}
    nodes = [
        node("FastGelu", "x b", "g", MS),
        node("SkipLayerNormalization", "g x k b", "n", MS, epsilon=1e-5),
        node("FusedMatMul", "n x", "y", MS, transA=1, alpha=0.5),
    ]
    agree(model(nodes, feeds, {"b": floats(8), "k": floats(8)}), feeds, 1e-4)


def test_both_ways_of_a_long_short_term_memory():
    """onnxruntime quantises what it hears to 8 bits: near is as near as that allows."""
    size, wide = 4, 6
    feeds = {"x": floats(9, 1, wide)}
    constants = {
        "w": RANDOM.integers(-127, 128, (2, wide, 4 * size)).astype(np.int8),
        "r": RANDOM.integers(-127, 128, (2, size, 4 * size)).astype(np.int8),
        "b": floats(2, 8 * size),
        "h": floats(2, 1, size),
        "c": floats(2, 1, size),
        "ws": np.array([0.004, 0.006], np.float32),
        "rs": np.array([0.005, 0.003], np.float32),
        "wz": np.zeros(2, np.int8),
        "rz": np.zeros(2, np.int8),
    }
    lstm = node("DynamicQuantizeLSTM", "x w r b - h c - ws wz rs rz", "y yh yc", MS,
                direction="bidirectional", hidden_size=size)  # fmt: skip
    agree(model([lstm], feeds, constants), feeds, 0.02)


def test_what_is_not_known_is_told():
    with pytest.raises(NotImplementedError, match="Det"):
        Graph(model([node("Det", "x")], {"x": floats(2, 2)}, {}))
    with pytest.raises(NotImplementedError, match="8-bit"):
        Graph(model([QUANTISED, node("DequantizeLinear", "q s z")], {"x": floats(2)}, {}))


def test_nothing_from_the_host_is_mixed_with_the_device():
    """Another device than the processor: one whose tensors hold nothing, and are refused beside
    others. What comes out cannot be fetched from it, so that much is tried and no more."""
    nodes = [
        node("Gather", "table x", "g"),
        node("Shape", "x", "s"),
        node("Cast", "s", "f", to=TensorProto.FLOAT),
        node("Add", "g f", "a"),
        node("DynamicQuantizeLinear", "a", "q t z"),
        node("MatMulInteger", "q w z wz", "p"),
        node("Cast", "p", "y", to=TensorProto.FLOAT),
    ]
    constants = {
        "table": floats(9, 3),
        "w": np.ones((3, 2), np.int8),
        "wz": np.array(0, np.int8),
    }
    feeds = {"x": ints(1, 4)}
    with pytest.raises(NotImplementedError, match="meta"):
        Graph(model(nodes, feeds, constants), "meta").run(feeds)
