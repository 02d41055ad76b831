// What a scan means, by its prefix and by what the counter is doing. One at a time: see queue.js.

import { parse } from '../codes.js';
import { createHandingOut } from './handing_out.js';
import { createLending } from './lending.js';
import { createRepeats } from './queue.js';
import { createTags } from './tags.js';
import { createTakingBack } from './taking_back.js';

export function createDesk({ given, book, sheet, view, answers, post, hurried, memory }) {
  const state = {
    mode: 'out', // or 'back'
    holder: null, // {code, who, crew}: for whom gear goes out
    contested: null, // {tag, from}: refused as out to someone else, may change hands
    choosing: null, // kit lines of which a digit waives one
    lending: false, // a day card was asked for
    card: null, // a blank day card that waits for a name
    forCard: null, // a picker who waits for a blank day card
    stale: false, // the card shown is older than the last scan, as more scans waited
    wet: new Map(), // crew code -> name, of crews that came back wet
    lastCrew: null, // {code, name} of whoever brought something back last
    done: [], // acts recorded here, the last one last: {entries, text, tags, holder, back, wet}
  };
  let repeats = createRepeats();
  const desk = { state, book, sheet, view, answers, post, hurried, urls: given.urls, prefixes: given.prefixes };

  desk.forget = () => {
    repeats = createRepeats();
  };
  desk.done = (entries, about) => {
    const act = { entries, ...about };
    state.done.push(act);
    view.log(act);
    return act;
  };
  // A sending without an answer: written down and not checked, or not written down at all.
  desk.unanswered = (result, about) => {
    if (result.full) return view.answer(answers.no('cannot_keep'));
    if (result.refused !== undefined) return view.answer(answers.no('unreadable', { say: result.refused }));
    desk.done(result.entries, { text: about.about ?? '', ...about, unchecked: new Set(result.entries.map((entry) => entry.id)) });
    return view.answer(answers.noted({ tag: about.tag, about: about.about }));
  };

  // A queued entry was answered.
  desk.sent = (entry) => {
    const act = state.done.find((one) => one.unchecked?.delete(entry.id));
    if (act?.unchecked.size === 0) view.inBook(act);
  };

  desk.handingOut = createHandingOut(desk);
  desk.takingBack = createTakingBack(desk);
  desk.lending = createLending(desk);
  const tags = createTags(desk);

  const TAGS = {
    hand_out: () => tags.turn('out'),
    take_back: () => tags.turn('back'),
    undo: tags.undo,
    change_of_hands: desk.handingOut.changeOfHands,
    waive: tags.waive,
    came_back_wet: desk.takingBack.wet,
    day_card: desk.lending.start,
    finish: tags.finish,
  };

  async function scan({ text, at }) {
    const code = parse(text);
    if (!code.ok) return view.answer(answers.no(code.why, {}, { tag: text.trim().slice(0, 40) }));
    const { badge, crew, set, counter } = given.prefixes;
    if (repeats.isRepeat(code.text, at, [badge, crew, counter].includes(code.prefix))) return undefined;
    if (code.prefix === counter) return tag({ name: given.tags[code.number], at });
    settle();
    const out = state.mode === 'out';
    if (code.prefix === badge || code.prefix === crew) return person(code.text);
    if (code.prefix === set) return out ? desk.handingOut.set(code.text, at) : view.answer(answers.no('set_back', {}, { tag: code.text }));
    return out ? desk.handingOut.item(code.text, at) : desk.takingBack.item(code.text, at);
  }

  function person(code) {
    if (state.mode === 'out' || state.lending || state.forCard) return desk.handingOut.serve(code);
    return desk.takingBack.look(code);
  }

  async function tag({ name, at }) {
    const act = TAGS[name];
    settle(name);
    return act ? act(at) : view.answer(answers.no('no_such_tag'));
  }

  // What was asked lapses with the next scan of another sort.
  function settle(name = '') {
    if (name !== 'waive') state.choosing = null;
    if (name !== 'change_of_hands') state.contested = null;
  }

  // The line is back: what could not be shown meanwhile is shown now.
  async function back() {
    if (view.outcome() === 'note') view.answer(answers.ready(answers.say('line_back'), { instead: answers.say('line_back_how') }));
    if (state.mode === 'out') await desk.handingOut.refresh();
  }

  const jobs = {
    back,
    resume,
    scan,
    tag,
    digit: ({ digit, at }) => tags.digit(digit, at),
    picked: ({ one }) => desk.lending.picked(one),
    add: ({ fields }) => desk.lending.add(fields),
  };
  // After a reload: as it was left.
  async function resume() {
    if (!memory.restore(state)) return;
    view.mode(state);
    for (const act of state.done) view.log(act);
    if (state.mode === 'back') tags.turn('back');
    else if (state.holder) await desk.handingOut.serve(state.holder.code);
  }

  async function work(job) {
    memory.forgetYesterday(state);
    await jobs[job.kind](job);
    if (state.stale && !hurried()) await desk.handingOut.refresh();
    memory.save(state);
  }

  return {
    work,
    sent: desk.sent,
    choosing: () => state.choosing !== null,
    state,
  };
}
