"""A pack's files onto the disk: whole or not at all, beside the target first and then renamed."""

import io
import os
import shutil
import tempfile
import zipfile
from collections.abc import Mapping
from pathlib import Path

from hidewright.errors import RequestError

#: The time in every zip entry: the earliest a zip can say, so that bytes do not depend on a clock.
ZIP_TIME = (1980, 1, 1, 0, 0, 0)


def write_pack(files: Mapping[str, bytes], target: Path, *, replace: bool = False) -> None:
    """Write files into a folder, or into a zip when the target ends in ``.zip``.

    Nothing half-written is ever seen under the target's name: it is written beside it and renamed.

    Args:
        files: Contents by path inside the pack, with forward slashes.
        target: Folder or zip to make.
        replace: Whether an existing pack may be replaced.

    Raises:
        RequestError: When the target exists and may not be replaced, is no pack, or cannot be
            written.
    """
    refuse_target(target, replace=replace)
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        if target.suffix == ".zip":
            _write_zip(files, target)
        else:
            _write_folder(files, target)
    except OSError as refused:
        raise RequestError(
            f"{target} cannot be written",
            because=refused.strerror or str(refused),
            mend="Choose another folder with --out, or free some room",
        ) from None


def refuse_target(target: Path, *, replace: bool) -> None:
    """Refuse a target that is there already, before any work is done for it.

    Raises:
        RequestError: When it exists and may not be replaced, or is something that is not a pack.
    """
    if not target.exists():
        return
    if not replace:
        raise RequestError(
            f"{target} is already there",
            because="a pack is never written over without being asked",
            mend="Choose another name, or add --replace",
        )
    is_pack = (target / "manifest.json").is_file() or (
        target.is_dir() and not any(target.iterdir())
    )
    if target.suffix == ".zip" and target.is_file():
        is_pack = zipfile.is_zipfile(target)
    if not is_pack:
        raise RequestError(
            f"{target} is no pack",
            because="--replace replaces packs only, nothing else",
            mend="Choose another name",
        )


def zip_bytes(files: Mapping[str, bytes]) -> bytes:
    """Return the files as one zip; the same files give the same bytes."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as archive:
        for name in sorted(files):
            entry = zipfile.ZipInfo(name, ZIP_TIME)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.external_attr = 0o644 << 16
            entry.create_system = 3
            archive.writestr(entry, files[name], compresslevel=6)
    return buffer.getvalue()


def _write_zip(files: Mapping[str, bytes], target: Path) -> None:
    handle, beside = tempfile.mkstemp(prefix=f".{target.name}-", dir=target.parent)
    try:
        with os.fdopen(handle, "wb") as out:
            out.write(zip_bytes(files))
        Path(beside).chmod(0o644)
        Path(beside).replace(target)
    except BaseException:
        Path(beside).unlink(missing_ok=True)
        raise


def _write_folder(files: Mapping[str, bytes], target: Path) -> None:
    beside = Path(tempfile.mkdtemp(prefix=f".{target.name}-", dir=target.parent))
    try:
        for name, data in files.items():
            path = beside / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(data)
        beside.chmod(0o755)
        if target.exists():
            old = Path(tempfile.mkdtemp(prefix=f".{target.name}-old-", dir=target.parent))
            target.replace(old / "pack")
            try:
                beside.replace(target)
            except BaseException:
                (old / "pack").replace(target)
                raise
            finally:
                shutil.rmtree(old, ignore_errors=True)
        else:
            beside.replace(target)
    except BaseException:
        shutil.rmtree(beside, ignore_errors=True)
        raise
