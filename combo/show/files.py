"""Files that are written whole or not at all, and never over one that is there by surprise."""

from __future__ import annotations

import importlib.resources
import os
import tempfile
from collections.abc import Iterable
from pathlib import Path

from combo.problems import Place, Problem, Problems

LISTS = ("wheels", "tires", "spacers", "ratios", "differentials", "ballast", "nuts")
STARTER = ("job.toml", *(f"{plural}.csv" for plural in LISTS))


def refuse_existing(path: Path, *, force: bool = False) -> None:
    """Raise Problems where a file of that name is there and `force` is not given, or what is there is no file: told
    before any long work.
    """
    if path.exists() and not path.is_file():  # a folder, a pipe, a device: a file in its place would be its end
        raise Problems(
            [
                Problem(
                    Place(str(path)),
                    "not-a-file",
                    "something of that name is there that is no file",
                    "another name is accepted",
                )
            ]
        )
    if os.path.lexists(path) and not force:
        raise Problems(
            [
                Problem(
                    Place(str(path)),
                    "file-exists",
                    "a file of that name is there",
                    "nothing is overwritten without --force",
                )
            ]
        )


def refuse_inputs(path: Path, inputs: Iterable[Path]) -> None:
    """Raise Problems where a file that would be written is one that the job is read from, be it by another name."""
    for own in inputs:
        if path.exists() and own.exists() and path.samefile(own):
            raise Problems(
                [
                    Problem(
                        Place(str(path)),
                        "is-input",
                        f'this is "{own}", which the job is read from',
                        "another name is accepted",
                        "Not even --force overwrites it",
                    )
                ]
            )


def refuse_other_name(path: Path, ending: str) -> None:
    """Raise Problems where a file would not have the ending that its content wants."""
    if path.suffix.lower() != ending:
        raise Problems(
            [
                Problem(
                    Place(str(path)),
                    "other-ending",
                    f'found "{path.suffix}"',
                    f"a name that ends in {ending} is accepted",
                )
            ]
        )


def write_starter(folder: Path) -> list[Path]:
    """Write the starter job and its lists into a folder, made where it is not there.

    Raises
    ------
    Problems
        Where any of the files is there already: then none is written.
    """
    paths = [folder / name for name in STARTER]
    there = [path for path in paths if path.exists()]
    if there:
        raise Problems(
            [
                Problem(
                    Place(str(path)), "file-exists", "a file of that name is there", "a folder without it is accepted"
                )
                for path in there
            ]
        )
    folder.mkdir(parents=True, exist_ok=True)
    for path in paths:
        write(path, importlib.resources.files("combo.starter").joinpath(path.name).read_bytes())
    return paths


def write(path: Path, content: bytes, *, force: bool = False) -> None:
    """Write a file whole: into its folder under another name first, then renamed.

    Raises
    ------
    Problems
        Where a file of that name is there and `force` is not given, or the folder does not exist.
    """
    refuse_existing(path, force=force)
    if not path.parent.is_dir():
        missing = Problem(Place(str(path)), "missing-folder", f'no folder "{path.parent}"', "an existing folder")
        raise Problems([missing])
    try:
        _replace(path, content)
    except OSError as error:  # of the name that it has for the user
        raise OSError(error.errno, error.strerror, str(path)) from error


def _replace(path: Path, content: bytes) -> None:
    handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
        os.chmod(temporary, 0o644)
        os.replace(temporary, path)
    except BaseException:
        Path(temporary).unlink(missing_ok=True)
        raise
