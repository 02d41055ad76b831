// What the counter tags and their keys do, beside changing hands and coming back wet: direction, undo, waive, finish.

export function createTags(desk) {
  const { state, book, sheet, view, answers, urls } = desk;
  const { say, no, yes, ready, partial } = answers;

  function turn(mode) {
    state.mode = mode;
    state.holder = null;
    state.lastCrew = null;
    state.last = null;
    view.mode(state);
    view.work('');
    view.answer(mode === 'out' ? ready(say('ready_out'), { sound: 'note' }) : ready(say('ready_back'), { sound: 'note', instead: say('ready_back_how') }));
  }

  // Takes back the last act recorded at this counter, all pieces of a set; scanned again, the one before.
  async function undo(at) {
    const act = state.done.at(-1);
    if (!act) return view.answer(no('nothing_to_undo'));
    const reversed = act.entries.map(({ id, item, crew }) => ({ verb: 'reversed', ...(item ? { item } : { crew }), detail: { entry: id } }));
    const result = await book.record(reversed.reverse(), at);
    if (result.refused !== undefined || result.full) return desk.unanswered(result, {});
    state.done.pop();
    const wrong = result.answers?.find((answer) => answer.outcome === 'refused');
    if (wrong) return view.answer(answers.refusal(wrong, { tag: act.tags[0] }));
    const wasBack = (act.back || act.aside) && act.holder;
    for (const tag of act.tags) if (wasBack) sheet.gave(tag, act.holder); else sheet.took(tag);
    if (act.tags.includes(state.last?.tag)) state.last = null;
    view.strike(act);
    desk.forget();
    view.answer({ ...(result.waits ? answers.noted() : yes(say('undone'))), tag: act.tags.join(' ') || act.tag, about: act.text });
    if (act.back && act.tags[0]) return desk.takingBack.owes(act.tags[0]);
    return desk.handingOut.refresh();
  }

  // One required line is missing: it is waived. Several: a digit chooses, or the tag again takes the first.
  async function waive(at) {
    if (state.choosing) return waiveLine(state.choosing[0], at);
    if (!state.holder || state.holder.code.startsWith(desk.prefixes.crew)) return view.answer(no('waive_needs_picker'));
    const { data } = await book.ask(urls.kit.replace('CODE', state.holder.code));
    if (!data) return view.answer(no('kit_not_known'));
    if (data.missing.length === 0) return view.answer(no('nothing_to_waive'));
    if (data.missing.length === 1) return waiveLine(data.missing[0], at);
    state.choosing = data.missing.slice(0, 9);
    const lines = state.choosing.map((line, place) => `${place + 1}  ${line.name}`);
    return view.answer(partial(say('waive_which'), { about: state.holder.who, why: lines, instead: say('waive_how') }));
  }

  async function waiveLine(line, at) {
    state.choosing = null;
    const { holder } = state;
    const draft = { verb: 'waived', crew: holder.crew?.code, picker: holder.code, detail: { kind: line.kind }, note: say('waive_note') };
    const text = say('waived', { kind: line.name, who: holder.who });
    const result = await book.record([draft], at);
    if (!result.answers) return desk.unanswered(result, { tags: [], text, about: text });
    const [answer] = result.answers;
    if (answer.outcome === 'refused') return view.answer(answers.refusal(answer, { who: holder.who }));
    desk.done(result.entries, { text, tags: [] });
    view.answer(yes(text, { about: say('waive_note') }));
    return desk.handingOut.refresh();
  }

  async function digit(figure, at) {
    const line = state.choosing?.[Number(figure) - 1];
    if (line) await waiveLine(line, at);
  }

  async function finish() {
    const { holder } = state;
    if (!holder) return turn(state.mode);
    const { data } = await book.ask(urls.kit.replace('CODE', holder.code));
    state.holder = null;
    view.work('');
    if (data?.missing && !data.complete) {
      return view.answer(partial(say('not_complete', holder), { about: answers.list(data.missing), instead: say('ready_out') }));
    }
    return view.answer(ready(data ? say('is_complete', holder) : say('ready_out'), { sound: 'note', instead: say('ready_out') }));
  }

  return { turn, undo, waive, digit, finish };
}
