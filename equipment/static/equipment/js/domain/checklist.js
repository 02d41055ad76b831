// Answers to a checklist: equipment/domain/checklist.py. A point is one of the sheet's `checklists`.

import { own } from './values.js';

/** The points that are asked where these crops are picked. */
export const asked = (points, crops) =>
  points.filter((point) => point.crops.length === 0 || point.crops.some((crop) => crops.includes(crop)));

/** What is not right with the answers yet: {stray, missing, wrong}, codes of points; all empty where they can be sent. */
export function check(points, answers, crops = []) {
  const known = points.map((point) => point.code);
  const unanswered = (point) => ['', null, undefined].includes(own(answers, point.code));
  const given = points.filter((point) => own(answers, point.code) !== undefined);
  return {
    stray: Object.keys(answers).filter((code) => !known.includes(code)).sort(),
    missing: asked(points, crops).filter(unanswered).map((point) => point.code),
    wrong: given.filter((point) => !canBe(point, answers[point.code])).map((point) => point.code),
  };
}

/** The points whose answer is not good, each with the fault that it opens ('' for none): {point: fault}. */
export function failed(points, answers, kit = {}) {
  const bad = points.filter((point) => own(answers, point.code) !== undefined && !isGood(point, answers[point.code], kit));
  return Object.fromEntries(bad.map((point) => [point.code, point.fault ?? '']));
}

function canBe(point, answer) {
  if (point.answer === 'number') return typeof answer === 'number';
  return (point.answer === 'yes_no' ? ['yes', 'no'] : point.choices).includes(word(answer));
}

function isGood(point, answer, kit) {
  if (point.answer !== 'number') return point.good.includes(word(answer));
  const low = point.per_kit ? (own(kit, point.per_kit) ?? 0) : point.low;
  return (low === null || answer >= low) && (point.high === null || answer <= point.high);
}

function word(answer) {
  if (typeof answer === 'boolean') return answer ? 'yes' : 'no';
  return String(answer);
}
