"""Model files: found in installed packages or in this one, checked by SHA-256, never fetched."""

from __future__ import annotations

import hashlib
from importlib.util import find_spec
from pathlib import Path

from voicewalk.errors import ModelError

_OURS = Path(__file__).parent


def checked_file(package: str, name: str, sha256: str) -> Path:
    """The path of a model file inside an installed package.

    The package itself is not imported: some of them start threads or download when they are.

    Raises:
        ModelError: the package or the file is missing, or the file is not the measured one.
    """
    remedy = f"Run script/setup, or install {package} in the version of requirements.lock."
    spec = find_spec(package)
    if spec is None or not spec.submodule_search_locations:
        raise ModelError(f"the package {package}, which carries a speech model, is missing", remedy)
    return _checked(Path(spec.submodule_search_locations[0]) / name, sha256, remedy)


def own_file(name: str, sha256: str) -> Path:
    """The path of a model file that comes with this program; ``name`` begins at its package.

    Raises:
        ModelError: the file is missing, or is not the measured one.
    """
    return _checked(_OURS / name, sha256, f"Restore voicewalk/{name} from the repository.")


def _checked(path: Path, sha256: str, remedy: str) -> Path:
    try:
        found = hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError as error:
        raise ModelError(f"the model file {path} cannot be read: {error}", remedy) from error
    if found != sha256:
        raise ModelError(f"the model file {path} is not the one that was measured", remedy)
    return path
