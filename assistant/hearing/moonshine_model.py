"""The Moonshine model in the wheel of its library: sound in, the likelihood of the next piece of text out.

Source:
    Jeffries et al., Moonshine: Speech Recognition for Live Transcription and Voice Commands (2024).
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from assistant.errors import ListenerMissing

BEGIN, END = 1, 2
"""Tokens before and after a text."""
BYTE_TOKENS = range(3, 259)
"""Tokens for single bytes of characters that no piece has."""
FILES = ("encoder_model.ort", "decoder_model_merged.ort", "tokenizer.bin")
ENCODER, DECODER, TOKENS = FILES


class MoonshineModel:
    """The small English model.

    Attributes:
        pieces: the text of each token; empty for single bytes.

    Raises:
        ListenerMissing: the package or a file of the model is missing, or it cannot be loaded.
    """

    def __init__(self) -> None:
        self._encoder, self._decoder, self.pieces = load_model()
        self._last: tuple[NDArray[np.float32], NDArray[np.float32]] | None = None
        self._past = {
            given.name: np.zeros((1, given.shape[1], 0, given.shape[3]), np.float32)
            for given in self._decoder.get_inputs()
            if given.name.startswith("past")
        }

    def listen(self, samples: NDArray[np.float32]) -> Writing:
        """Begins to write down a sound.

        Args:
            samples: float32 in [-1, 1], 16 kHz, shape (n,), at least a tenth of a second.
        """
        batch = np.ascontiguousarray(samples, np.float32)[None]
        mask = np.ones(batch.shape, np.int64)
        if self._last is None or not np.array_equal(self._last[0], samples):
            (heard,) = self._encoder.run(None, {"input_values": batch, "attention_mask": mask})
            self._last = samples, heard
        heard = self._last[1]
        return Writing(self._decoder, heard, mask, self._past)


class Writing:
    """Several beginnings of the text of one sound, each in a row, all equally long."""

    def __init__(
        self,
        decoder: Any,
        heard: NDArray[np.float32],
        mask: NDArray[np.int64],
        past: dict[str, NDArray[np.float32]],
    ) -> None:
        self._decoder, self._is_begun = decoder, False
        self._of_text = {name: values for name, values in past.items() if ".decoder." in name}
        self._of_sound = {name: values for name, values in past.items() if ".encoder." in name}
        self._sound: dict[str, NDArray[Any]] = {"encoder_hidden_states": heard, "encoder_attention_mask": mask}
        self._repeated: tuple[int, dict[str, NDArray[Any]]] = 0, {}

    def after(self, rows: Sequence[tuple[int, int]]) -> NDArray[np.float32]:
        """Goes on by one token.

        Args:
            rows: (row of the call before, token that follows there); for the first call one, with `BEGIN`.

        Returns:
            Natural log of the likelihood of the token after that, shape (rows, tokens).
        """
        count = len(rows)
        sources = [row for row, _ in rows]
        feeds = {
            "input_ids": np.array([[token] for _, token in rows], np.int64),
            "use_cache_branch": np.array([self._is_begun]),
            **{name: values[sources] for name, values in self._of_text.items()},
            **self._for_rows(count),
        }
        outputs = [f"present{name.removeprefix('past_key_values')}" for name in self._of_text]
        if not self._is_begun:
            outputs += [f"present{name.removeprefix('past_key_values')}" for name in self._of_sound]
        logits, *present = self._decoder.run(["logits", *outputs], feeds)
        self._of_text = dict(zip(self._of_text, present, strict=False))
        if not self._is_begun:
            self._of_sound = dict(zip(self._of_sound, present[len(self._of_text) :], strict=True))
            self._is_begun, self._repeated = True, (0, {})
        last = logits[:, -1] - logits[:, -1].max(axis=1, keepdims=True)
        likelihoods: NDArray[np.float32] = last - np.log(np.exp(last).sum(axis=1, keepdims=True))
        return likelihoods

    def _for_rows(self, count: int) -> dict[str, NDArray[Any]]:
        """What the decoder is given of the sound, the same for each row; most calls have as many as the one before."""
        if self._repeated[0] != count:
            given = {**self._sound, **self._of_sound}
            self._repeated = 0, {}  # twenty megabytes of a long remark, not to be held twice
            self._repeated = count, {name: np.repeat(values, count, axis=0) for name, values in given.items()}
        return self._repeated[1]


def _folder() -> Path:
    spec = find_spec("moonshine_voice")
    if spec is None or not spec.submodule_search_locations:
        raise ListenerMissing("Moonshine is not installed. Install the package moonshine-voice, or go without it.")
    folder = Path(spec.submodule_search_locations[0]) / "assets" / "tiny-en"
    if missing := [name for name in FILES if not (folder / name).is_file()]:
        raise ListenerMissing(f"The Moonshine model has no file {folder / missing[0]}. Install moonshine-voice again.")
    return folder


def load_model() -> tuple[Any, Any, list[str]]:
    """Encoder, decoder, and the text of each token; loaded once.

    Raises:
        ListenerMissing: as `MoonshineModel`.
    """
    folder = _folder()
    try:
        return _session(folder / ENCODER), _session(folder / DECODER), _pieces((folder / TOKENS).read_bytes())
    except (OSError, IndexError, RuntimeError) as error:
        raise ListenerMissing(f"The Moonshine model cannot be loaded: {error}. Install it again.") from error


@cache
def _session(path: Path) -> Any:
    try:
        import onnxruntime
    except ImportError as error:
        raise ListenerMissing(f"Moonshine needs the package onnxruntime: {error}. Install it.") from error
    onnxruntime.disable_telemetry_events()  # Windows does not ask the variable that `assistant` sets
    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = options.inter_op_num_threads = 1
    options.enable_cpu_mem_arena = False  # it keeps as much as the longest sound ever took
    return onnxruntime.InferenceSession(str(path), options, providers=["CPUExecutionProvider"])


def _pieces(data: bytes) -> list[str]:
    """The text of each token in a file of them: a length in one byte, or in two from 128 on, then UTF-8."""
    pieces: list[str] = []
    at = 0
    while at < len(data):
        length, at = data[at], at + 1
        if length >= 128:
            length, at = length - 128 + 128 * data[at], at + 1
        is_byte = len(pieces) in BYTE_TOKENS
        pieces.append("" if is_byte else data[at : at + length].decode("utf-8", errors="replace"))
        at += length
    return pieces
