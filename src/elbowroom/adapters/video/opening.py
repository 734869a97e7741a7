"""Opens a video file, and turns whatever goes wrong into one sentence."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import av
from av.codec.context import CodecContext
from av.container import InputContainer
from av.video.stream import VideoStream

from elbowroom.adapters.video.boxes import is_cut_off
from elbowroom.errors import ClipError

FORMATS = "mov,mp4,m4a,3gp,3g2,mj2,matroska,webm"
"""Containers that are read. Play lists are not: the library would follow the addresses in them. Nor are
transport streams and AVI: a cut one cannot be told from a whole one, or holds no true picture times."""
CODECS = frozenset({"h264", "hevc", "vp9", "av1", "libdav1d", "mpeg4", "mjpeg", "prores"})
"""Video codecs that are read; H.264 and HEVC are what phones write and what the tests cover."""
LARGEST_EDGE_PX = 8192
"""Longest edge of a picture that is read; more is a damaged header or no phone."""
_FOREIGN = (av.error.FFmpegError, OSError, ValueError, OverflowError, MemoryError, RuntimeError)


@contextmanager
def translate_errors(name: str) -> Iterator[None]:
    """Raise `ClipError` with one sentence for whatever the file system or the video library raises."""
    try:
        yield
    except ClipError:
        raise
    except _FOREIGN as e:
        raise ClipError(_explain(name, e)) from e


@contextmanager
def open_container(path: Path) -> Iterator[InputContainer]:
    """Open a video file for reading; raises `ClipError` where it cannot be opened as one."""
    with translate_errors(path.name):
        _check_file(path)
        with path.open("rb") as file:
            if is_cut_off(file, path.stat().st_size):
                raise ClipError(f"{path.name} is cut off; copy the whole file from the phone again.")
            # A file object, not a name: so the library cannot follow an address or open another file.
            options = {"format_whitelist": FORMATS}
            with av.open(file, mode="r", options=options, metadata_errors="replace") as container:
                yield container


def choose_stream(container: InputContainer, name: str) -> VideoStream:
    """Choose the moving picture of a file; raises `ClipError` where there is none that can be read."""
    streams = [s for s in container.streams.video if not _is_cover(s)]
    if not streams:
        raise ClipError(f"{name} holds no moving picture, only sound or data; choose the video file of the throw.")
    stream = streams[0]
    if _find_codec(stream) not in CODECS:
        raise ClipError(f"{name} is coded in a way that is not read; export it as MP4 with H.264 or HEVC.")
    context = stream.codec_context
    if not (0 < context.width <= LARGEST_EDGE_PX and 0 < context.height <= LARGEST_EDGE_PX):
        raise ClipError(f"{name} states an impossible picture size; it is damaged, so copy it again.")
    return stream


def _check_file(path: Path) -> None:
    if path.is_dir():
        raise ClipError(f"{path.name} is a folder; name the video file in it.")
    if not path.exists():
        raise ClipError(f"{path.name} is not there; check the name and the folder.")
    if not path.is_file():
        raise ClipError(f"{path.name} is not a file; name a video file.")
    if path.stat().st_size == 0:
        raise ClipError(f"{path.name} is empty; copy it from the phone again.")


def _find_codec(stream: VideoStream) -> str:
    # The library's types promise a decoder; a file with an unknown code has none.
    context: CodecContext | None = stream.codec_context
    return "" if context is None else context.name


def _is_cover(stream: VideoStream) -> bool:
    return bool(stream.disposition & av.stream.Disposition.attached_pic)


def _explain(name: str, error: BaseException) -> str:
    # The library gives some damage the names of file-system errors; only the system's own are believed.
    is_from_library = isinstance(error, av.error.FFmpegError)
    if isinstance(error, PermissionError) and not is_from_library:
        return f"{name} may not be read by this user; change its permissions."
    if isinstance(error, FileNotFoundError) and not is_from_library:
        return f"{name} is not there; check the name and the folder."
    if isinstance(error, MemoryError):
        return f"{name} asks for more memory than there is; it is damaged, so copy it again."
    return f"{name} is damaged or no MP4, MOV or MKV video; copy the original from the phone again."
