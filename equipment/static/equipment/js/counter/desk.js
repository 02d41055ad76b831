// What a scan means, by its prefix and by what the counter is doing. One at a time: see queue.js.

import { parse } from '../codes.js';
import { createActs } from './acts.js';
import { createChecks } from './checks.js';
import { createFaults } from './faults.js';
import { createHandingOut } from './handing_out.js';
import { createLending } from './lending.js';
import { createOverride } from './override.js';
import { createRepeats } from './queue.js';
import { createTags } from './tags.js';
import { createTakingBack } from './taking_back.js';

export function createDesk({ given, book, sheet, view, panels, answers, post, hurried, memory }) {
  const state = {
    mode: 'out', // or 'back'
    holder: null, // {code, who, crew}: for whom gear goes out
    contested: null, // {tag, from}: refused as out to someone else, may change hands
    choosing: null, // kit lines of which a digit waives one
    last: null, // the piece scanned last: {tag, kind}; refused: {answer, draft}; given a moment ago: {holder}
    faults: null, // faults of that piece, of which a digit chooses one: {lines, next}
    lending: false, // a day card was asked for
    card: null, // a blank day card that waits for a name
    forCard: null, // a picker who waits for a blank day card
    stale: false, // the card shown is older than the last scan, as more scans waited
    wet: new Map(), // crew code -> name, of crews that came back wet
    lastCrew: null, // {code, name} of whoever brought something back last
    done: [], // acts recorded here, the last one last: {entries, text, tags, holder, back, wet}
  };
  let repeats = createRepeats();
  const { urls, prefixes, mayLend } = given;
  const desk = { state, book, sheet, view, panels, answers, post, hurried, urls, prefixes, mayLend };

  desk.forget = () => {
    repeats = createRepeats();
  };
  desk.scanned = (tag, { kind, ...about } = {}) => {
    state.last = { tag, kind: kind ?? given.kindOf[tag.slice(0, 2)], ...about };
  };
  Object.assign(desk, createActs(state, { view, answers }));
  desk.handingOut = createHandingOut(desk);
  desk.takingBack = createTakingBack(desk);
  desk.lending = createLending(desk);
  desk.faults = createFaults(desk, given.faults);
  const override = createOverride(desk);
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
    set_aside: desk.faults.setAside,
    all_good: createChecks(desk, given.checks).allGood,
    let_go: override.ask,
  };

  async function scan({ text, at }) {
    const code = parse(text);
    if (!code.ok) return view.answer(answers.no(code.why, {}, { tag: text.trim().slice(0, 40) }));
    const { badge, crew, set, counter } = prefixes;
    // The same counter tag again within a moment is meant where another piece was scanned in between.
    const once = code.prefix === counter ? `${code.text} ${state.last?.tag}` : code.text;
    if (repeats.isRepeat(once, at, [badge, crew, counter].includes(code.prefix))) return undefined;
    const fault = code.prefix === counter && given.faults.tags[code.number];
    if (code.prefix === counter && !fault) return tag({ name: given.tags[code.number], at });
    settle();
    if (fault) return desk.faults.found(fault, at);
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
    desk.faults.lapse();
    panels.noWhy();
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
    // A key, like a tag, makes a second reading of an item meant.
    tag(job) {
      desk.forget();
      return tag(job);
    },
    digit: ({ digit, at }) => (state.choosing ? tags.digit(digit, at) : desk.faults.digit(digit, at)),
    why: override.send,
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
    choosing: () => Boolean(state.choosing || state.faults),
    state,
  };
}
