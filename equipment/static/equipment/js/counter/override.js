// "Let it go all the same": what the gate keeps here goes out, by somebody who may and who writes down why.

export function createOverride(desk) {
  const { state, view, panels, answers } = desk;
  const { say, no, partial } = answers;
  const blocking = (answer) => (answer.reasons ?? []).filter((reason) => reason.blocks);

  // What was refused last, as long as the same holder stands here.
  const refused = () => (state.last?.draft && state.last.draft.to === state.holder?.code ? state.last : null);

  async function ask() {
    const last = refused();
    if (!last) return view.answer(no('nothing_to_let_go'));
    const shown = { tag: last.tag, about: answers.kind(last.kind) };
    const against = blocking(last.answer);
    if (!last.answer.may_override) {
      const never = against.filter((reason) => reason.override.length === 0);
      const why = [...new Set((never.length > 0 ? never : against).map((reason) => reason.who_may))];
      return view.answer(no('may_not_let_go', {}, { ...shown, why }));
    }
    view.answer(partial(say('let_it_go'), { ...shown, why: against.map((reason) => reason.say), instead: say('why_how') }));
    return panels.why(say('why_let_go', last));
  }

  async function send({ why, at }) {
    const last = refused();
    panels.noWhy();
    if (!last) return view.answer(no('nothing_to_let_go'));
    const overridden = [...new Set(blocking(last.answer).map((reason) => reason.code))];
    const { to, ...draft } = last.draft;
    return desk.handingOut.give({ ...draft, detail: { ...draft.detail, overridden }, note: why }, at, 'let_go');
  }

  return { ask, send };
}
