"""What a wedge scanner types, well and badly, into the page's own reading of it: no tag is taken for another.

`counter/keys.js` and `codes.js` run in one page, as they are, on a clock of the test's: keys come as events with the
times that the stream gives them. A stream is a scan of a tag that was given out, whole (at any speed, any case, ended
by Enter, Tab or nothing, a person typing before and after) or with one mistake in it.
"""

from collections import Counter
from pathlib import Path
from random import Random
from typing import Any

from playwright.sync_api import Browser

import equipment
from equipment.domain import codes

JS = Path(equipment.__file__).parent / "static/equipment/js"
GIVEN = [codes.make(p, n) for p in ("BG", "CL", "LD") for n in range(1, 10_000) if codes.may_be_given(p, n)]
FAULTS = ("substituted", "swapped", "dropped", "doubled", "typed into")
LETTERS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"

RUN = """async ([codesSource, keysSource, streams]) => {
  const load = (source) => import(URL.createObjectURL(new Blob([source], {type: 'text/javascript'})));
  const { parse } = await load(codesSource);
  const { listen } = await load(keysSource);
  let now = 0;
  let timers = [];
  window.setTimeout = (work, wait, ...given) => { timers.push({at: now + wait, work, given}); return timers.at(-1); };
  window.clearTimeout = (timer) => { timers = timers.filter((each) => each !== timer); };
  function pass(until) {
    for (;;) {
      timers.sort((one, other) => one.at - other.at);
      if (timers.length === 0 || timers[0].at > until) break;
      const timer = timers.shift();
      now = timer.at;
      timer.work(...timer.given);
    }
    now = until;
  }
  const find = document.createElement('input');
  const heard = [];
  let key = null;
  const page = { addEventListener: (name, work) => { key = work; } };
  const isCode = (text) => parse(text).ok || parse(text).why === 'wrong_check';
  listen(page, { keys: {}, isCode, find, on: { scan: (text) => heard.push(text), key() {}, digit: () => false } });
  const target = { closest: () => null };
  return streams.map((keys) => {
    heard.length = 0;
    find.value = '';
    const begins = now + 2000;
    for (const [name, at] of keys) {
      pass(begins + at);
      key({ key: name, timeStamp: now, target, preventDefault() {}, stopPropagation() {} });
    }
    pass(now + 2000);
    return heard.map(parse).filter((each) => each.ok).map((each) => each.text);
  });
}"""


def keys(random: Random, text: str, *, typing: bool) -> list[tuple[str, float]]:
    """A scanner's keys and their times in ms: quick, with jitter; a person's at a hand's speed before and after."""
    at, stream = 0.0, []
    if typing:
        for letter in random.sample("aeinrst", random.randint(1, 3)):
            at += random.uniform(100, 400)
            stream.append((letter, at))
        at += random.uniform(81, 300)
    pace = random.uniform(0.5, 25)
    for letter in text:
        stream.append((letter, at))
        at += pace * random.uniform(0.3, 2.5)
    if end := random.choice(("Enter", "Tab", "")):
        stream.append((end, at))
    if typing:
        stream.append((random.choice("aeinrst"), at + random.uniform(100, 400)))
    return stream


def spoilt(random: Random, tag: str, fault: str) -> str:
    place = random.randrange(len(tag) - 1)
    before, here, after = tag[:place], tag[place], tag[place + 1 :]
    if fault == "substituted":
        return before + random.choice(LETTERS.replace(here, "")) + after
    if fault == "swapped":
        return before + after[0] + here + after[1:]
    return (
        before
        + {"dropped": "", "doubled": here * 2, "typed into": here + random.choice("aeinrst")}[fault]
        + after
    )


def test_no_tag_is_taken_for_another(chromium: Browser, times: Any, figure: Any) -> None:
    random, wanted = Random(37_36), times(1_500, 10_000)
    streams, meant = [], []
    for number in range(wanted):
        fault = FAULTS[number // 2 % len(FAULTS)] if number % 2 else ""
        tag = random.choice(GIVEN)
        text = spoilt(random, tag, fault) if fault else tag
        text = random.choice((text, text.lower(), text.swapcase()))
        meant.append((tag, "whole" if text.upper() == tag else fault))
        streams.append(keys(random, text, typing=random.random() < 0.5))
    with chromium.new_page() as page:
        sources = [(JS / name).read_text() for name in ("codes.js", "counter/keys.js")]
        heard = page.evaluate(RUN, [*sources, streams])
    counts, caught, read, named = (Counter[str]() for _ in range(4))
    issued = set(GIVEN)
    for (tag, kind), texts in zip(meant, heard, strict=True):
        counts[kind] += 1
        caught[kind] += texts == [tag]
        read[kind] += any(text != tag for text in texts)
        named[kind] += any(text != tag and text in issued for text in texts)
    assert caught["whole"] >= 0.999 * counts["whole"]
    assert (read["substituted"], read["whole"], named.total()) == (0, 0, 0)
    told = "; ".join(f"{read[kind]} and {named[kind]} of {counts[kind]} {kind}" for kind in FAULTS)
    figure(
        f"{caught['whole']} of {counts['whole']} whole scans caught; read as another code by the check character alone,"
        f" and as a tag that was given out: {told}"
    )


def test_every_swap_within_a_tag_that_was_given_out_names_no_other() -> None:
    """All of them, not a sample: by `codes.parse`, of which `test_codes_in_the_page` shows that the page's agrees."""
    issued, passed = set(GIVEN), 0
    for tag in GIVEN:
        for place in range(len(tag) - 1):
            swapped = tag[:place] + tag[place + 1] + tag[place] + tag[place + 2 :]
            if swapped != tag and codes.mod_37_36.is_valid(swapped):
                passed += 1
                assert swapped not in issued
    assert passed > 0
