"""Writes the trained listener as one ONNX file with 8-bit weights.

    python -m training.export WEIGHTS.npz OUT.onnx

Input ``mel`` (1, 80, frames of 10 ms), output ``logits`` (1, frames of 20 ms, symbols). The
weights of all matrices are 8-bit integers, one scale for each column; sums are dynamic 8-bit
products. The file's SHA-256, printed, goes into voicewalk/hearing/letter_model.py.
"""

from __future__ import annotations

import argparse
import hashlib
import tempfile
from pathlib import Path

import numpy as np
import torch
from onnxruntime.quantization import QuantType, quantize_dynamic

from training.model import MELS, Letters


def load(path: Path) -> Letters:
    """The model with the weights of a run, for use."""
    model = Letters()
    with np.load(path) as file:
        model.load_state_dict({k: torch.from_numpy(file[k].astype(np.float32)) for k in file})
    return model.eval()


def export(model: Letters, out: Path) -> str:
    """Write the file; returns its SHA-256."""
    with tempfile.TemporaryDirectory() as folder:
        plain = str(Path(folder) / "plain.onnx")
        torch.onnx.export(
            model,
            (torch.randn(1, MELS, 300),),
            plain,
            input_names=["mel"],
            output_names=["logits"],
            dynamic_axes={"mel": {2: "mel frames"}, "logits": {1: "frames"}},
            opset_version=17,
            dynamo=False,
        )
        quantize_dynamic(
            plain,
            str(out),
            op_types_to_quantize=["MatMul"],
            per_channel=True,
            weight_type=QuantType.QInt8,
            extra_options={"MatMulConstBOnly": True},
        )
    return hashlib.sha256(out.read_bytes()).hexdigest()


def main() -> None:
    """Export."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("weights", type=Path)
    parser.add_argument("out", type=Path)
    chosen = parser.parse_args()
    digest = export(load(chosen.weights), chosen.out)
    print(f"{chosen.out}: {chosen.out.stat().st_size / 1e6:.1f} MB, SHA-256 {digest}")


if __name__ == "__main__":
    main()
