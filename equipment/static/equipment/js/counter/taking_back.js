// Taking back: in any order, no badge needed. Says whose it was and what they still owe.

const MOST_AT_ONCE = 100; // entries of one sending that marks earlier returns as wet

export function createTakingBack(desk) {
  const { state, book, sheet, view, answers, urls } = desk;
  const { say, no, yes } = answers;

  const draft = (item, wet) => ({ verb: 'returned', item, detail: wet ? { wet: true } : {} });

  async function item(tag, at) {
    desk.scanned(tag);
    const holder = sheet.has(tag);
    const wet = Boolean(holder?.crew && state.wet.has(holder.crew.code));
    const about = holder ? say('was_with', holder) : '';
    const result = await book.record([draft(tag, wet)], at);
    if (!result.answers) {
      sheet.took(tag);
      return desk.unanswered(result, { tag, tags: [tag], about, holder, wet, back: true });
    }
    const [answer] = result.answers;
    if (answer.outcome === 'refused') return view.answer(answers.refusal(answer, { tag }));
    const text = say('returned', { kind: answers.kind(answer.state.kind) });
    const shown = yes(text, { tag: answer.state.tag, about, why: answer.state.wet ? [say('for_drying')] : [] });
    view.answer({ ...shown, unfinished: true });
    desk.scanned(answer.state.tag, { kind: answer.state.kind });
    desk.faults.offer();
    sheet.took(answer.state.tag);
    const act = desk.done(result.entries, { text, tags: [answer.state.tag], holder, wet, back: true });
    state.lastCrew = holder?.crew ?? state.lastCrew;
    const data = holder && desk.hurried() ? null : await owes(tag);
    if (!data) return view.amend(shown);
    act.holder = { code: data.code, who: data.who, crew: data.crew };
    return view.amend({ ...shown, about: say('was_with', data), why: [...shown.why, owing(data)] });
  }

  // What the last holder of an item, or who has a badge or crew tag, still owes; null where the book cannot be asked.
  async function owes(code) {
    const { data } = await book.ask(urls.owes.replace('CODE', code));
    if (!data || data.code === 'nobody') return null;
    state.lastCrew = data.crew ?? state.lastCrew;
    view.work(data.html);
    view.crew(data.crew);
    return data;
  }

  const owing = (data) => (data.owes.length === 0
    ? say('owes_nothing', data)
    : say('owes', { who: data.who, count: data.owes.length, what: data.owes.map((one) => `${one.name} ${one.tag}`).join(', ') }));

  // A badge or crew tag while taking back: nothing is recorded, it only says what is owed.
  async function look(code) {
    const data = await owes(code);
    const known = data ?? sheet.holder(code);
    if (!known) return view.answer(no('unknown_picker', {}, { tag: code }));
    state.lastCrew = known.crew ?? state.lastCrew;
    return view.answer(answers.ready(known.who, { sound: 'note', about: known.crew?.name, why: data ? [owing(data)] : [] }));
  }

  // "This crew came back wet": on, with what they returned here before, until it is scanned again.
  async function wet(at) {
    if (state.mode !== 'back') return view.answer(no('only_taking_back'));
    const crew = state.lastCrew;
    if (!crew) return view.answer(no('which_crew'));
    if (state.wet.delete(crew.code)) {
      view.mode(state);
      return view.answer(answers.ready(say('wet_off', { crew: crew.name }), { sound: 'note' }));
    }
    state.wet.set(crew.code, crew.name);
    view.mode(state);
    const count = await markEarlier(crew, at);
    const why = [say('wet_from_now'), ...(count > 0 ? [say('wet_before', { count })] : [])];
    return view.answer(yes(say('wet_on', { crew: crew.name }), { why }));
  }

  // The dry returns of that crew at this counter are taken back and recorded again as wet, each as one act.
  async function markEarlier(crew, at) {
    const dry = state.done.filter((act) => act.back && !act.wet && act.holder?.crew?.code === crew.code);
    let count = 0;
    for (const act of dry.slice(-MOST_AT_ONCE)) {
      const [before] = act.entries;
      const again = [{ verb: 'reversed', item: before.item, detail: { entry: before.id } }, draft(before.item, true)];
      const result = await book.record(again, at);
      const went = result.waits || result.answers?.every((answer) => answer.outcome !== 'refused');
      if (!went) continue;
      Object.assign(act, { entries: [result.entries[1]], wet: true });
      count += 1;
    }
    return count;
  }

  return { item, look, owes, wet };
}
