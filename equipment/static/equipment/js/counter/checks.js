// "All good": one tag or key answers the short daily check of the piece scanned last.

export function createChecks(desk, checks) {
  const { state, book, view, answers } = desk;
  const { say, no, yes } = answers;

  async function allGood(at) {
    const { last } = state;
    if (!last) return view.answer(no('which_piece'));
    const shown = { tag: last.tag, about: answers.kind(last.kind) };
    if (!checks[last.kind]) return view.answer(no('no_check', {}, shown));
    const result = await book.record([{ verb: 'inspected', item: last.tag, detail: checks[last.kind] }], at);
    const text = say('all_good');
    if (!result.answers) return desk.unanswered(result, { ...shown, tags: [], text });
    const [answer] = result.answers;
    if (answer.outcome === 'refused') return view.answer(answers.refusal(answer, shown));
    desk.done(result.entries, { text, tag: last.tag, tags: [] });
    const goesNow = last.draft && answer.state.fit;
    return view.answer(yes(text, { ...shown, instead: goesNow ? say('scan_again') : '' }));
  }

  return { allGood };
}
