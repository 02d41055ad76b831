// Scans one after the other, in the order they came, however long one of them takes. Nothing is dropped here but the
// second reading of one tag within two seconds.

const ONCE_WITHIN = 2000;

// `work(job)` may take its time; a job that fails is told to `failed` and the next one goes on. `busy(count)` is told
// how many are not done.
export function createQueue({ work, failed, busy }) {
  const jobs = [];
  let running = false;

  async function run() {
    running = true;
    while (jobs.length > 0) {
      busy(jobs.length);
      try {
        await work(jobs[0]);
      } catch (error) {
        failed(error);
      }
      jobs.shift();
    }
    running = false;
    busy(0);
  }

  return {
    add(job) {
      jobs.push(job);
      if (!running) run();
    },
    // Whether more wait behind the one under way: what only shows can be left to them.
    hurried: () => jobs.length > 1,
  };
}

// Whether a tag read at `at` (ms) was counted within two seconds before. A card, a crew or a counter tag in between
// makes a second reading of an item meant.
export function createRepeats() {
  const counted = new Map();
  return {
    isRepeat(code, at, turnsPage) {
      if (at - (counted.get(code) ?? -Infinity) < ONCE_WITHIN) return true;
      if (turnsPage) counted.clear();
      counted.set(code, at);
      return false;
    },
  };
}
