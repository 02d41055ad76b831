// No badge today: find by name, lend a day card, take on someone new.

export function createLending(desk) {
  const { state, sheet, view, answers, urls, post, book } = desk;
  const { say, no, ready } = answers;

  function start() {
    if (!desk.mayLend) return view.answer(no('no_right'));
    state.forCard = null;
    state.card = null;
    state.lending = true;
    view.answer(ready(say('for_whom'), { sound: 'note', instead: say('for_whom_how') }));
    view.find();
  }

  // A card that stands for nobody: a blank day card is lent, or waits for a name; any other is refused.
  async function turnedAway(why, code) {
    if (why !== 'blank_day_card') return view.answer(no(why, {}, { tag: code }));
    if (state.forCard) return lend(code, state.forCard);
    state.card = code;
    view.answer(ready(say('blank_card'), { sound: 'note', tag: code, instead: say('for_whom_how') }));
    return view.find();
  }

  // A picker chosen by name: as if their badge had been scanned, unless they need a card first.
  async function picked(one) {
    if (state.card) return lend(state.card, one);
    if (one.badge && !state.lending) return state.mode === 'out' ? desk.handingOut.serve(one.badge) : desk.takingBack.look(one.badge);
    state.forCard = one;
    const why = one.badge ? [] : [say('no_card', { who: one.name })];
    return view.answer(ready(say('scan_card', { who: one.name }), { sound: 'note', why, instead: say('scan_card_how') }));
  }

  async function lend(code, one) {
    if (!desk.mayLend) return view.answer(no('no_right'));
    if (!book.isOn()) return view.answer(no('needs_the_book'));
    const reply = await post(urls.dayCard, { badge: code, picker: one.id });
    if (!reply.data) return unreached(reply);
    if (reply.data.code) return view.answer(no(reply.data.code, { say: reply.data.say }, { tag: code }));
    state.forCard = null;
    state.card = null;
    state.lending = false;
    sheet.lend(code, one.id);
    return state.mode === 'out' ? desk.handingOut.serve(code) : desk.takingBack.look(code);
  }

  async function add(fields) {
    if (!desk.mayLend) return view.answer(no('no_right'));
    if (!book.isOn()) return view.answer(no('needs_the_book'));
    const reply = await post(urls.newPicker, fields);
    if (!reply.data) return unreached(reply);
    if (reply.data.code) return view.answer(no(reply.data.code, { say: reply.data.say }));
    const one = { id: reply.data.picker, number: reply.data.number, name: reply.data.who, crew: fields.crew, badge: '' };
    sheet.add(one);
    return picked(one);
  }

  function unreached(reply) {
    if (reply.why !== 'refused') book.lost(reply);
    view.answer(no('needs_the_book', { say: reply.say }));
  }

  return { start, turnedAway, picked, add };
}
