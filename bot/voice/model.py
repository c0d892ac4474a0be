"""The recogniser's network: from a sound to log-probabilities, step by step for several texts."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import onnxruntime

from bot.voice.vocabulary import Vocabulary
from bot.voice.weights import Weights

Floats = npt.NDArray[np.float32]
RATE = 16_000
"""The sample rate that the network was trained on [Hz]."""
BEGIN, END = 1, 2
"""The tokens at the beginning and end of a text."""
THREADS = 2
ROWS_AT_ONCE = 3
"""Texts scored together: each needs 128 KiB per token."""
_HEADS, _WIDTH = 8, 36
_BRANCH = "use_cache_branch"
# The network reads every 384th element of the mask as one step of the sound; a mask of length 1
# covers all steps. A mask as long as the steps fails from 385 steps on, which is 9.3 s.


@dataclass(frozen=True, slots=True)
class Memory:
    """The network's state of the texts under way, by the names of its inputs."""

    kept: dict[str, Floats]

    def of(self, rows: list[int]) -> "Memory":
        """Return the memory of some texts, in this order."""
        return Memory({name: value[rows] for name, value in self.kept.items()})


class Model:
    """Encoder and decoder of the recogniser.

    Parameters
    ----------
    weights
        Checked files.
    threads
        The number of cores a run may use.
    """

    def __init__(self, weights: Weights, threads: int = THREADS) -> None:
        options = onnxruntime.SessionOptions()
        options.intra_op_num_threads = threads
        options.inter_op_num_threads = 1
        options.log_severity_level = 3
        options.enable_cpu_mem_arena = False
        cpu = ["CPUExecutionProvider"]
        self._encoder = onnxruntime.InferenceSession(weights.encoder, options, providers=cpu)
        self._decoder = onnxruntime.InferenceSession(weights.decoder, options, providers=cpu)
        self._outputs = [one.name for one in self._decoder.get_outputs()]
        self._pasts = [
            one.name
            for one in self._decoder.get_inputs()
            if one.name.startswith("past_key_values.")
        ]
        self.vocabulary = Vocabulary(weights.tokenizer)

    def encode(self, sound: Floats) -> Floats:
        """Return a sound encoded for the decoder.

        Parameters
        ----------
        sound
            Mono samples at 16 kHz, -1 to 1, at least 0.1 s.
        """
        fed = {
            "input_values": sound[None],
            "attention_mask": np.ones((1, len(sound)), np.int64),
        }
        found: Floats = self._encoder.run(None, fed)[0]
        return found

    def step(
        self, tokens: list[int], listened: Floats, memory: Memory | None
    ) -> tuple[Floats, Memory]:
        """Return log-probabilities of the next token of each text, and the memory after it.

        Parameters
        ----------
        tokens
            The last token of each text under way.
        listened
            A sound, from `encode`.
        memory
            The memory after the last step; None for the first.
        """
        size = len(tokens)
        fed: dict[str, object] = {
            "input_ids": np.array(tokens, np.int64)[:, None],
            "encoder_hidden_states": np.repeat(listened, size, 0),
            "encoder_attention_mask": np.ones((size, 1), np.int64),
            _BRANCH: np.array([memory is not None]),
        }
        if memory is None:
            empty = np.zeros((size, _HEADS, 0, _WIDTH), np.float32)
            fed.update(dict.fromkeys(self._pasts, empty))
        else:
            fed.update(memory.kept)
        found = dict(zip(self._outputs, self._decoder.run(None, fed), strict=True))
        return _log_softmax(found.pop("logits")[:, -1]), _after(found, memory)

    def likelihoods(self, texts: list[tuple[int, ...]], listened: Floats) -> list[float]:
        """Return the log-probabilities of whole texts, each with its end.

        Parameters
        ----------
        texts
            Rows of tokens, without beginning and end.
        listened
            A sound, from `encode`.
        """
        found: list[float] = []
        for first in range(0, len(texts), ROWS_AT_ONCE):
            found += self._likelihoods(texts[first : first + ROWS_AT_ONCE], listened)
        return found

    def _likelihoods(self, texts: list[tuple[int, ...]], listened: Floats) -> list[float]:
        size = len(texts)
        rows = np.full((size, max(map(len, texts)) + 1), END, np.int64)
        rows[:, 0] = BEGIN
        for row, text in zip(rows, texts, strict=True):
            row[1 : len(text) + 1] = text
        fed: dict[str, object] = {
            "input_ids": rows,
            "encoder_hidden_states": np.repeat(listened, size, 0),
            "encoder_attention_mask": np.ones((size, 1), np.int64),
            _BRANCH: np.array([False]),
            **dict.fromkeys(self._pasts, np.zeros((size, _HEADS, 0, _WIDTH), np.float32)),
        }
        scores = self._decoder.run(["logits"], fed)[0]
        return [_of_text(one, text) for one, text in zip(scores, texts, strict=True)]


def _of_text(scores: Floats, text: tuple[int, ...]) -> float:
    """Return the log-probability of a text and its end from the scores at each position."""
    tokens = np.array((*text, END))
    odds = _log_softmax(scores[: len(tokens)])
    return float(odds[np.arange(len(tokens)), tokens].sum())


def _after(found: dict[str, Floats], memory: Memory | None) -> Memory:
    kept = {name.replace("present", "past_key_values"): value for name, value in found.items()}
    if memory is not None:
        # The encoder's part stays the same; later steps return nothing for it.
        kept |= {name: value for name, value in memory.kept.items() if ".encoder." in name}
    return Memory(kept)


def _log_softmax(scores: Floats) -> Floats:
    low = scores - scores.max(1, keepdims=True)
    result: Floats = low - np.log(np.exp(low).sum(1, keepdims=True))
    return result
