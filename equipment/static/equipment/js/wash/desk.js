// What a scan means at the wash place. One at a time: see counter/queue.js.

import { parse } from '../codes.js';
import { fill } from '../counter/answers.js';
import { createRepeats } from '../counter/queue.js';
import { left, MOST } from './groups.js';
import { clock } from './view.js';

// The number of a bath, as its bucket's label holds it: a UUID, bare or in an address, whatever the keyboard made of its dashes.
const BATH = /([0-9a-f]{8})[^0-9a-z]?([0-9a-f]{4})[^0-9a-z]?([0-9a-f]{4})[^0-9a-z]?([0-9a-f]{4})[^0-9a-z]?([0-9a-f]{12})[^0-9a-z]*$/i;

export function bathIn(text) {
  const found = BATH.exec(text);
  return found ? found.slice(1).join('-').toLowerCase() : null;
}

export function createDesk({ given, groups, view, send, ask }) {
  const { words } = given;
  const ways = new Map(given.ways.map((way) => [way.code, way]));
  const repeats = createRepeats();
  const say = (name, values) => fill(words[name], values);
  const no = (name, how, more = {}) => view.answer({ outcome: 'no', say: words[name], instead: words[how] ?? '', ...more });

  function choose(code) {
    const way = ways.get(code);
    if (!way) return no('no_bath', 'no_bath_how');
    groups.choose(code);
    view.render();
    return view.answer({ outcome: 'none', say: say('chosen', { way: way.name }), instead: words.ready, sound: 'note' });
  }

  async function scan({ text, at }) {
    const own = bathIn(text);
    if (own) return bucket(`bath:${own}`);
    const code = parse(text);
    const shown = { tag: text.trim().slice(0, 40) };
    if (!code.ok) return no(code.why, 'again', shown);
    if (code.prefix === given.counter) return tag(given.tags[code.number]);
    groups.forgetAsked();
    if (repeats.isRepeat(code.text, at, false)) return undefined;
    const way = ways.get(groups.way());
    if (!way) return no('choose', 'choose_how');
    if (groups.has(code.text)) return no('is_in', 'is_in_how', { tag: code.text });
    if ((groups.open(way.code)?.pieces.length ?? 0) >= MOST) return no('full', 'full_how');
    return lookUp(way, code.text, at);
  }

  async function lookUp(way, tagged, at) {
    const { data, why } = await ask(way.code, tagged, groups.waiting(way.code));
    if (!data) return why === 'signed_out' ? no('signed_out', 'signed_out_how') : no('no_line', 'no_line_scan_how', { why: [words.no_line_scan], tag: tagged });
    // An old label was scanned: the piece may be in by its new one.
    if (data.outcome !== 'no' && groups.has(data.tag)) return no('is_in', 'is_in_how', { tag: data.tag });
    if (data.outcome !== 'no') groups.add(way, { tag: data.tag, about: data.about }, at);
    view.render();
    return view.answer(data);
  }

  // The label of a bucket chooses its bath; with pieces in it, it says "out".
  function bucket(code) {
    const group = groups.meant(code, Date.now());
    return group && groups.way() === code ? out(group) : choose(code);
  }

  async function tag(name) {
    if (name === 'undo') return undo();
    if (name === 'finish') return out(groups.meant(null, Date.now()));
    return no('no_such_tag', 'no_such_tag_how');
  }

  function undo() {
    const group = groups.open(groups.way());
    const last = group?.pieces.at(-1);
    if (!last) return no('nothing_to_undo', '');
    groups.drop(group, last.tag);
    view.render();
    return view.answer({ outcome: 'yes', say: words.undone, tag: last.tag, about: last.about });
  }

  // Too early asks first; the same once more, and it is done all the same.
  async function out(group) {
    if (!group) return no('nothing_in', 'nothing_in_how');
    const missing = left(group, Date.now());
    if (missing > 0 && !group.early) {
      groups.forgetAsked();
      group.early = true;
      view.render();
      const why = [words.too_early_why];
      return view.answer({ outcome: 'partial', say: say('too_early', { left: clock(missing) }), about: group.way.name, why, instead: words.too_early_how });
    }
    await send(group);
    return view.render();
  }

  const jobs = {
    scan,
    tag: ({ name }) => tag(name),
    choose: ({ code }) => choose(code),
    out: ({ id }) => out(groups.all().find((group) => group.id === id && !group.entries)),
    retry: ({ id }) => send(groups.all().find((group) => group.id === id)),
    keep() {
      groups.forgetAsked();
      view.render();
      view.answer({ outcome: 'none', say: words.ready });
    },
    another({ id }) {
      const group = groups.all().find((each) => each.id === id);
      if (group) groups.close(group);
      view.render();
      view.answer({ outcome: 'none', say: words.ready });
    },
  };
  return { work: (job) => jobs[job.kind](job), knows: (code) => ways.has(code) };
}
