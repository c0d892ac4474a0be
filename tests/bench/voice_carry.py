"""A whole carry by voice at the stand-in, against the same one typed.

python -m tests.bench.voice_carry: synthetic speech in traffic noise at 10 dB; it prints turns,
what was asked again, times, memory, and where the record differs from the typed one. With the
name of a recorded conversation of one driver it plays that one:
python -m tests.bench.voice_carry stuck_cord_carry goes from a stuck cord over the road to the
drop. ROLLPROOF_OPINION is heeded.
"""

import asyncio
import io
import resource
import statistics
import sys
import tempfile
import time
from collections import Counter, deque
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import soundfile
from hibari import SAMPLE_RATE, Hibari

from bot.commands.demo import JPEG, UNIT_S, Step, conversation, parse
from bot.machine.settings import settings
from bot.voice.ears import LazyEars
from bot.voice.questions import of_prompt
from flows.hearing.lexicon import lexicon_of
from flows.hearing.prompts import prompt_for
from tests.bot.scripted import TO_CLOSE, TO_NEUTRAL
from tests.standin.phones import Phones

Floats = npt.NDArray[np.float32]
SAM = "driver:sam"
PLAIN = (*TO_NEUTRAL, "neutral", "just now", *TO_CLOSE)
ALOUD = {
    "go": "go ahead", "none": "nothing seen", "not in": "not plugged in",
    "on": "ready light is on", "off": "ready light is off", "pulled": "pulled it",
    "neutral two minutes ago": "neutral now", "yes": "affirmative",
}  # fmt: skip
"""What is said aloud where the typed word is another."""
PLAIN_SNR_DB = 10.0
MOST_TRIES = 4
MOST_STEPS, MOST_VISITS = 150, 6


def traffic(count: int, chance: np.random.Generator) -> Floats:
    """Return the noise of a road: rumble under 200 Hz, and tyres from 600 Hz to 3 kHz."""
    spectrum = np.fft.rfft(chance.standard_normal(count))
    hertz = np.fft.rfftfreq(count, 1 / SAMPLE_RATE)
    shape = np.where(hertz < 200, 1.0, 0.0) + np.where((hertz > 600) & (hertz < 3000), 0.25, 0.02)
    found: Floats = np.fft.irfft(spectrum * shape, count).astype(np.float32)
    return found


def note(voice: Hibari, text: str, seed: int) -> bytes:
    """Return speech with traffic at 10 dB below it, as a voice note."""
    chance = np.random.default_rng(seed)
    said = np.asarray(voice(f"{text}.", seed=seed), np.float32)
    said = np.pad(said, SAMPLE_RATE // 3)
    noise = traffic(len(said), chance)
    loud = said[np.abs(said) > 0.02 * np.abs(said).max()]
    noise *= np.sqrt((loud**2).mean() / (noise**2).mean()) * 10 ** (-PLAIN_SNR_DB / 20)
    mixed = said + noise
    out = io.BytesIO()
    soundfile.write(out, 0.5 * mixed / np.abs(mixed).max(), SAMPLE_RATE, format="OGG",
                    subtype="OPUS", compression_level=0.93)  # fmt: skip
    return out.getvalue()


class Carry:
    """Plays the carry on phones: typed in its order, or by voice, answering what is asked.

    `script` is what was typed to each question, in order: by voice the same is said to it.
    """

    def __init__(
        self, phones: Phones, voice: Hibari | None, script: dict[str, deque[Step]]
    ) -> None:
        self.phones, self.voice, self.script = phones, voice, script
        phones.company.desk.ears = LazyEars(opinion=settings(None, None).opinion)
        object.__setattr__(phones.company, "ears", phones.company.desk.ears)
        self.turns = self.again = self.checked = 0
        self.spent: list[float] = []
        self.missed: list[str] = []

    async def play(self, steps: list[Step]) -> None:
        """Play a conversation; what a dispatcher says, openings and free words are typed."""
        self.phones.enrol(SAM)
        opening = [step for step in steps if step.chat != SAM or step.text.startswith("job ")]
        opening = opening or steps[:1]
        for step in opening:
            self.turns += step.chat == SAM
            await self.phones.say(step.chat, step.text)
        if self.voice is not None:
            await self._answer()
            return
        for step in steps:
            if step not in opening and self._job.ended is None:
                self.script.setdefault(self._asked[0], deque()).append(step)
                await self._do(step, is_typed=True)

    async def _answer(self) -> None:
        """Say to each question what was typed to it, until the job has ended."""
        visits: Counter[str] = Counter()
        for _ in range(MOST_STEPS):
            if self._job.ended is not None:
                return
            key, prompt = self._asked[0], prompt_for(self._job)
            if prompt.pending == "heard":
                # What is read back yet was heard wrong.
                await self._note("negative", self.turns)
                continue
            steps = self.script.get(key)
            words = (*prompt.answer.words, *(label for _, label in prompt.answer.choices))
            step = Step(0, ">", SAM, next(iter(words), "go back"))
            if steps:
                step = steps.popleft() if len(steps) > 1 else steps[0]
            else:
                sys.stdout.write(f"{key}: not asked of who typed; {step.text!r} is said\n")
            visits[key] += 1
            is_missed = visits[key] > MOST_VISITS
            self.missed += [key] if is_missed else []
            await self._do(step, is_typed=prompt.answer.takes_note or is_missed)
        self.missed.append("the end")

    @property
    def _job(self) -> Any:
        return self.phones.company.desk.job(1)

    async def _do(self, step: Step, *, is_typed: bool) -> None:
        await self.phones.wait(5)
        if step.kind == "+":
            for number in range(int(step.text.split()[0])):
                data = JPEG + str(number).encode()
                self.phones.platform.world.sends(self.phones.accounts[SAM], "photo", data)
                await self.phones.hears()
        elif step.kind == "~":
            await self.phones.wait(int(step.text[:-1]) * UNIT_S[step.text[-1]])
        elif is_typed:
            self.turns += 1
            await self.phones.say(SAM, step.text)
        else:
            await self._voiced(step.text)

    async def _voiced(self, text: str) -> None:
        """Say it until the question is another; a read-back is answered by voice too.

        After two misses the choices were told: then the words are those that are asked for.
        """
        before, question = (
            self._asked,
            of_prompt(prompt_for(self._job), lexicon_of(self._job.book.library)),
        )
        for attempt in range(MOST_TRIES):
            asked_for = prompt_for(self._job).answer.words[:1]
            words = asked_for[0] if attempt > 1 and asked_for else text
            await self._note(ALOUD.get(words, words), attempt)
            if prompt_for(self._job).pending == "heard":
                self.checked += 1
                is_it = question.meant(str(self._job.pending.value)) == question.meant(words)
                await self._note("affirmative" if is_it else "negative", attempt)
            if self._asked != before or self._job.ended is not None:
                return
            self.again += 1
            heard = [e["body"] for e in self.phones.entries(1) if e["kind"] == "transcript"][-1]
            self.tell(before[0], words, heard["text"]["value"], heard["score"])
        self.missed.append(f"{before[0]}: {text}")
        await self.phones.say(SAM, text)

    def tell(self, key: str, said: str, heard: str, score: int) -> None:
        """Tell what was heard of an answer that was not taken."""
        sys.stdout.write(f"{key}: said {said!r}, heard {heard!r}, {score} of 100\n")
        sys.stdout.flush()

    @property
    def _asked(self) -> tuple[str, int]:
        return prompt_for(self._job).key, -1 if self._job.asked is None else self._job.asked.n

    async def _note(self, text: str, seed: int) -> None:
        if self.voice is None:
            raise RuntimeError("nobody speaks")
        self.turns += 1
        await self.phones.wait(5)
        data = note(self.voice, text, seed)
        start = time.perf_counter()
        self.phones.platform.world.sends(self.phones.accounts[SAM], "voice", data)
        await self.phones.hears()
        self.spent.append(time.perf_counter() - start)


KINDS = ("fact", "act", "done", "ended", "unseen")


def what_is_known(phones: Phones) -> list[tuple[str, str]]:
    """Return what the record says was known and done, without who or how it was said."""
    found = []
    for entry in phones.entries(1):
        body = entry["body"]
        if entry["kind"] in KINDS:
            value = body.get("value")
            plain = value.get("value") if isinstance(value, dict) else value
            name = body.get("name") or body.get("act") or body.get("item") or body.get("how")
            found.append((f"{entry['kind']} {name}", str(plain).lower().rstrip(".")))
    return found


async def carried(
    folder: Path, voice: Hibari | None, steps: list[Step], script: dict[str, deque[Step]]
) -> tuple[Carry, list[tuple[str, str]]]:
    async with Phones(folder) as phones:
        carry = Carry(phones, voice, script)
        await carry.play(steps)
        return carry, what_is_known(phones)


def main() -> None:
    """Play both and print what differs."""
    text = "\n".join(f"> {one}" for one in PLAIN)
    parsed = parse(conversation(sys.argv[1]) if len(sys.argv) > 1 else text)
    steps, script = [one for one in parsed if one.kind != "="], dict[str, deque[Step]]()
    with tempfile.TemporaryDirectory() as folder:
        typed, wanted = asyncio.run(carried(Path(folder, "typed"), None, steps, script))
        before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
        voice, found = asyncio.run(carried(Path(folder, "voice"), Hibari(), steps, script))
    after = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    lines = [
        f"typed: {typed.turns} turns; by voice: {voice.turns}, of them "
        f"{voice.again} asked again, {voice.checked} read back; typed after all: {voice.missed}",
        f"a note: median {statistics.median(voice.spent):.2f} s, most {max(voice.spent):.2f} s",
        f"memory: {before} MiB before voice, {after} MiB at the most, with the synthesis",
        f"only typed: {sorted(set(wanted) - set(found))}",
        f"only by voice: {sorted(set(found) - set(wanted))}",
    ]
    sys.stdout.write("\n".join(lines) + "\n")


if __name__ == "__main__":
    main()
