// The acts recorded at this counter: listed, known again when the book answers late, taken back by undo.

export function createActs(state, { view, answers }) {
  function done(entries, about) {
    const act = { entries, ...about };
    state.done.push(act);
    view.log(act);
    return act;
  }

  // A sending without an answer: written down and not checked, or not written down at all.
  function unanswered(result, about) {
    if (result.full) return view.answer(answers.no('cannot_keep'));
    if (result.refused !== undefined) return view.answer(answers.no('unreadable', { say: result.refused }));
    done(result.entries, { text: about.about ?? '', ...about, unchecked: new Set(result.entries.map((entry) => entry.id)) });
    return view.answer(answers.noted({ tag: about.tag, about: about.about }));
  }

  // A queued entry was answered.
  function sent(entry) {
    const act = state.done.find((one) => one.unchecked?.delete(entry.id));
    if (act?.unchecked.size === 0) view.inBook(act);
  }

  return { done, unanswered, sent };
}
