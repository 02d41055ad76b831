// Handing out: a badge or crew tag says for whom, each item or set goes out at once.

export function createHandingOut(desk) {
  const { state, book, sheet, view, answers, urls } = desk;
  const { say, no, yes } = answers;
  const nameOf = (code) => sheet.holder(code)?.who ?? code;
  const to = ({ code }) => (code.startsWith(desk.prefixes.crew) ? { crew: code } : { picker: code });
  const draft = (item, detail = {}) => ({ verb: 'handed_out', item, ...to(state.holder), detail });
  const named = (answer) => ({ kind: answers.kind(answer.state.kind), who: state.holder.who });

  // Whoever stands here from now on. Tells, first of all, what the one before went away without.
  async function serve(code) {
    const before = state.holder && state.holder.code !== code ? state.holder : null;
    const reply = await book.ask(urls.kit.replace('CODE', code) + (before ? `?last=${encodeURIComponent(before.code)}` : ''));
    if (!reply.data) return serveUnseen(code);
    if (reply.data.code && !reply.data.who) return desk.lending.turnedAway(reply.data.code, code);
    Object.assign(state, { lending: false, card: null, forCard: null });
    takeKit(reply.data);
    const { last } = reply.data;
    return view.answer(last && !last.complete ? leftWithout(last) : welcome(reply.data));
  }

  function takeKit(data) {
    state.holder = { code: data.code, who: data.who, crew: data.crew };
    view.work(data.html);
    view.crew(data.crew);
  }

  function serveUnseen(code) {
    const known = sheet.holder(code);
    state.holder = known ?? { code, who: code, crew: null };
    view.unseen(state.holder.who);
    const stranger = known ? [] : [say('not_on_list')];
    view.answer(answers.ready(state.holder.who, { sound: 'note', about: state.holder.crew?.name, why: [...stranger, say('noted_person')] }));
  }

  const welcome = (data) => answers.ready(data.who, {
    sound: 'note',
    about: data.code === data.crew?.code ? say('shared') : data.crew?.name,
    why: [data.complete ? say('complete') : say('to_give', { what: answers.list(data.missing) })],
  });

  const leftWithout = (last) => answers.partial(say('not_complete', { who: last.who }), {
    about: answers.list(last.missing), instead: say('now', { who: state.holder.who }),
  });

  async function refresh() {
    state.stale = Boolean(state.holder) && desk.hurried();
    if (!state.holder || state.stale) return;
    const reply = await book.ask(urls.kit.replace('CODE', state.holder.code));
    if (reply.data?.html) takeKit(reply.data);
  }

  async function item(tag, at) {
    desk.scanned(tag);
    if (!state.holder) return view.answer(no('no_holder', {}, { tag }));
    return give(draft(tag), at);
  }

  // `words` is how a yes is said; they are filled with `values`, the kind and the holder.
  async function give(one, at, words = 'given', values = {}) {
    const result = await book.record([one], at);
    if (!result.answers) return unchecked(result, one.item, [one.item]);
    const [answer] = result.answers;
    if (answer.outcome === 'refused') return refuse(answer, one);
    return gave(result, answer, say(words, { ...named(answer), ...values }));
  }

  async function gave(result, answer, text) {
    const { tag } = answer.state;
    const size = (answer.codes ?? []).includes('wrong_size') ? [say('wrong_size')] : [];
    desk.scanned(tag, { kind: answer.state.kind, holder: state.holder });
    desk.done(result.entries, { text, tags: [tag], holder: state.holder });
    sheet.gave(tag, state.holder);
    view.answer(yes(text, { tag, why: [...size, ...answers.beside(answer)] }));
    await refresh();
  }

  const unchecked = (result, tag, tags) => {
    for (const each of tags) sheet.gave(each, state.holder);
    desk.unanswered(result, { tag, tags, holder: state.holder, about: say('for', state.holder) });
  };

  function refuse(answer, one) {
    const tag = one.item;
    desk.scanned(tag, { kind: answer.state?.kind, answer, draft: { ...one, to: state.holder.code } });
    const from = answer.state?.picker ?? (answer.state?.place === 'crew' ? answer.state.crew : null);
    const values = { tag, who: state.holder.who, from: from ? nameOf(from) : '' };
    if (answer.code === 'already_out') {
      if (from === state.holder.code) values.as = 'already_theirs';
      else if (from) state.contested = { tag, from };
      else values.as = 'out_to_nobody';
    }
    view.answer(answers.refusal(answer, values));
  }

  // All pieces as one act; where some are unfit, the fit ones go as an act of their own.
  async function set(code, at) {
    if (!state.holder) return view.answer(no('no_holder', {}, { tag: code }));
    const tags = (await book.ask(urls.set.replace('CODE', code))).data?.pieces ?? sheet.set(code);
    if (tags.length === 0) return view.answer(no('set_empty', {}, { tag: code }));
    const first = await book.record(tags.map((tag) => draft(tag)), at);
    if (!first.answers) return unchecked(first, code, tags);
    const unfit = first.answers.filter((answer) => answer.outcome === 'refused' && answer.code !== 'act_refused');
    const fit = tags.filter((_tag, place) => first.answers[place].code === 'act_refused');
    const result = fit.length > 0 ? await book.record(fit.map((tag) => draft(tag)), at) : first;
    const out = unfit.length === 0 ? tags : fit;
    if (out.length > 0 && result.answers) desk.done(result.entries, { text: say('given_set', state.holder), tags: out, holder: state.holder });
    for (const tag of out) sheet.gave(tag, state.holder);
    view.answer(setAnswer(code, out, unfit));
    return refresh();
  }

  function setAnswer(code, out, unfit) {
    const about = say('pieces', { count: out.length });
    if (unfit.length === 0) return yes(say('given_set', state.holder), { tag: code, about });
    const from = (answer) => nameOf(answer.state?.picker ?? answer.state?.crew ?? '');
    const why = unfit.map((answer) => answers.stays(answer, { from: from(answer) }));
    return answers.partial(say('given_part', state.holder), { tag: code, about, why, instead: say('give_instead') });
  }

  async function changeOfHands(at) {
    if (!state.contested || !state.holder) return view.answer(no('nothing_to_move'));
    const { tag, from } = state.contested;
    state.contested = null;
    return give(draft(tag, { from }), at, 'moved', { from: nameOf(from) });
  }

  return { serve, item, give, set, changeOfHands, refresh };
}
