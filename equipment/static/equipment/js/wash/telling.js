// What became of a group: said in a few big words.

import { fill } from '../counter/answers.js';

const TAGS_SAID = 12;

export function createTelling({ given, groups, view }) {
  const { words, against } = given;
  const list = (tags) => (tags.length > TAGS_SAID ? `${tags.slice(0, TAGS_SAID).join(' ')} …` : tags.join(' '));

  // [{tag, codes}] -> a sentence for each reason, with the pieces that it is about.
  function reasons(told) {
    const tags = new Map();
    for (const { tag, codes } of told) for (const code of codes) tags.set(code, [...(tags.get(code) ?? []), tag]);
    return Array.from(tags, ([code, those]) => fill(words.of_which, { tags: list(those), why: fill(against[code] ?? code, { tag: those[0] }) }));
  }

  return {
    sent(group, told) {
      const failed = told.filter((each) => each.codes.length > 0);
      const done = told.some((each) => each.known) ? 'done_before' : `done_${group.way.method}`;
      const say = failed.length > 0 ? fill(words.not_counting, { count: failed.length }) : fill(words[done], { count: told.length });
      view.render();
      view.answer({ outcome: failed.length > 0 ? 'no' : 'yes', say, about: group.way.name, why: reasons(failed) });
    },
    leftOut(group, wrong) {
      view.render();
      const why = wrong.map(({ tag, say }) => fill(words.of_which, { tags: tag, why: say }));
      const instead = groups.all().includes(group) ? fill(words.left_out, { tags: list(wrong.map(({ tag }) => tag)) }) : '';
      view.answer({ outcome: 'no', say: words.refused, why, instead });
    },
    stuck(group, why, say) {
      view.render();
      if (why === 'unreachable') return view.answer({ outcome: 'note', say: words.no_line, why: [words.no_line_out] });
      if (why === 'signed_out') return view.answer({ outcome: 'no', say: words.signed_out, instead: words.signed_out_how });
      return view.answer({ outcome: 'no', say: words.refused, why: say ? [say] : [] });
    },
    timeUp(group) {
      view.answer({ outcome: 'yes', say: words.time_up, about: group.way.name, sound: 'time' });
    },
    // A fault of our own: said, never swallowed, and the next scan goes on.
    fault(error) {
      console.error(error);
      view.answer({ outcome: 'no', say: words.fault, instead: words.fault_how });
    },
  };
}
