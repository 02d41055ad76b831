// A crew's plans as they stand: those of the sheet, with what the crew itself replanned since.

const DAY = 'day';
const OTHER_HALF = { morning: 'afternoon', afternoon: 'morning' };
const CHANGED = 'changed';

const covers = (asked, part) => asked === DAY || part === DAY || asked === part;

/** `plans` with one change {date, part, clipped, block} on them, by day and in the order of the day. */
export function replanned(plans, change) {
  const meant = (plan) => plan.date === change.date && covers(change.part, plan.part);
  const shown = plans.flatMap((plan) => (meant(plan) ? changedPlan(plan, change) : [plan]));
  if (!plans.some(meant) && change.block) {
    const { date, part, block, clipped } = change;
    shown.push({ date, part, block, clipped, state: CHANGED });
  }
  return inOrder(shown);
}

// A half of a whole day that is replanned by itself makes two of it.
function changedPlan(plan, change) {
  const changed = { ...plan, clipped: change.clipped, block: change.block || plan.block, state: CHANGED };
  if (plan.part !== DAY || change.part === DAY) return [changed];
  return [{ ...plan, part: OTHER_HALF[change.part] }, { ...changed, part: change.part }];
}

const isLate = (plan) => Number(plan.part === 'afternoon');

const inOrder = (plans) =>
  [...plans].sort((one, other) => one.date.localeCompare(other.date) || isLate(one) - isLate(other));

/** What the kit depends on, for each plan of the date that was not cancelled. */
export function factsOf(sheet, date, present) {
  const standing = sheet.plans.filter((plan) => plan.date === date && plan.state !== 'cancelled');
  return standing.map((plan) => {
    const block = sheet.blocks.find((each) => each.code === plan.block);
    return { clipped: plan.clipped, crop: (block?.crop ?? '').toLowerCase(), tall_trees: block?.tall_trees ?? false, present };
  });
}
