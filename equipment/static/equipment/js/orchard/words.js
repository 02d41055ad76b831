// The page's words, filled; and what was recorded, said in half a line.

import { fill } from '../counter/answers.js';

export function createWords(words) {
  // A word that the page does not have is a mistake of ours: it shows, and a test finds it.
  const say = (name, values) => (Object.hasOwn(words, name) ? fill(words[name], values) : `?${name}`);
  return say;
}

const TAGS_SAID = 3;

// An act as `acts` of lines.js has it: "Handed out CL0012X to number 7".
export function actWords({ entries }, { say, day }) {
  const broken = entries.find((entry) => entry.verb === 'fault_found');
  const spare = entries.find((entry) => entry.verb === 'handed_out' && entry.picker);
  if (broken && spare) return say('verb_swapped', { tag: broken.item, fault: detail(broken, { say, day }), spare: spare.item, who: detail(spare, { say, day }) });
  const verbs = new Map();
  for (const entry of entries) verbs.set(entry.verb, [...(verbs.get(entry.verb) ?? []), entry]);
  return [...verbs].map(([verb, those]) => say(`verb_${verb}`, { what: subjects(those, say), more: detail(those[0], { say, day }) }).trim()).join('; ');
}

function subjects(entries, say) {
  const tags = [...new Set(entries.map((entry) => entry.item).filter(Boolean))];
  return tags.length > TAGS_SAID ? say('pieces', { n: tags.length }) : tags.join(' ');
}

function detail(entry, { say, day }) {
  const person = entry.picker ? day.byBadge(entry.picker) : null;
  if (entry.verb === 'fault_found' || entry.verb === 'mended') return day.sheet() ? day.fault(entry.detail.fault).name : entry.detail.fault;
  if (entry.verb === 'stopped') return say(`stop_${entry.detail.cause}`);
  if (entry.verb === 'cleaned') return say(`cleaned_${entry.detail.method}`);
  if (person) return say('to_number', { number: person.number });
  return entry.block ?? '';
}
