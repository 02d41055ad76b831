// What is wrong with the piece scanned last: chosen by its digit or by its tag, whichever way the gear goes.

const A_PAGE = 9;

export function createFaults(desk, { names, ofKind, stops }) {
  const { state, book, sheet, view, panels, answers } = desk;
  const { say, no, yes, partial } = answers;
  const possible = () => ofKind[state.last?.kind] ?? [];

  // Offers the faults of the piece scanned last, nine at a time; 0 turns the page.
  function offer(first = 0) {
    const all = possible();
    const lines = all.slice(first, first + A_PAGE).map((fault, place) => ({ digit: String(place + 1), text: names[fault], fault }));
    if (all.length > A_PAGE) lines.push({ digit: '0', text: say('more_faults') });
    state.faults = { lines, next: first + A_PAGE < all.length ? first + A_PAGE : 0 };
    panels.faults(say('wrong_with', state.last), lines);
  }

  function lapse() {
    state.faults = null;
    panels.faults('', []);
  }

  async function digit(figure, at) {
    const line = state.faults?.lines.find((one) => one.digit === figure);
    if (!line) return undefined;
    return line.fault ? found(line.fault, at) : offer(state.faults.next);
  }

  // A piece that the book keeps here for a fault is on the bench already; of any other it asks what is wrong.
  async function setAside() {
    const { last } = state;
    if (!last) return view.answer(no('which_piece'));
    const shown = { tag: last.tag, about: answers.kind(last.kind) };
    const codes = answers.keptFor(last.answer);
    if (codes.includes('stop_use')) return view.answer(yes(say('on_the_bench'), { ...shown, why: [say('known_fault')] }));
    last.aside = true;
    offer();
    if (codes.length > 0) return view.answer(yes(say('lay_aside'), { ...shown, why: [say('kept_here')], instead: say('fault_too') }));
    return view.answer(partial(say('what_is_wrong'), { ...shown, instead: say('fault_how') }));
  }

  async function found(fault, at) {
    const { last } = state;
    if (!last) return view.answer(no('which_piece'));
    const kind = answers.kind(last.kind);
    if (last.kind && !possible().includes(fault)) {
      return view.answer(no('not_its_fault', { fault: names[fault] }, { tag: last.tag, about: kind }));
    }
    lapse();
    const holder = comesBack(last, fault) ? last.holder : null;
    const text = say('fault_noted', { fault: names[fault] });
    const act = { text, tag: last.tag, tags: holder ? [last.tag] : [], holder, aside: Boolean(holder) };
    const draft = { verb: 'fault_found', item: last.tag, detail: { fault } };
    const drafts = holder ? [{ verb: 'returned', item: last.tag, detail: {} }, draft] : [draft];
    const result = await book.record(drafts, at);
    const wrong = result.answers?.find((answer) => answer.outcome === 'refused' && answer.code !== 'act_refused');
    if (holder && !wrong) sheet.took(last.tag);
    if (!result.answers) return desk.unanswered(result, { ...act, about: text });
    if (wrong) return view.answer(answers.refusal(wrong, { tag: last.tag }));
    desk.done(result.entries, act);
    Object.assign(last, { answer: null, holder: null, aside: false });
    view.answer(yes(text, { tag: last.tag, about: kind, why: [whereTo(fault, result.answers.at(-1).state)] }));
    return holder ? desk.handingOut.refresh() : undefined;
  }

  // Given a moment ago and not good: it never left the counter.
  const comesBack = (last, fault) => last.holder && (last.aside || stops.includes(fault));

  function whereTo(fault, { place }) {
    if (fault === 'wet') return say('for_drying');
    if (fault === 'dirty') return say('for_washing');
    return say(place === 'bench' ? 'for_mender' : 'may_go_on');
  }

  return { offer, lapse, digit, setAside, found };
}
