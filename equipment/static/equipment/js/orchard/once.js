// Asked again while it is at work, it works once more afterwards, however often it was asked.
export function onceAtATime(work) {
  let running = null;
  let more = false;
  return () => {
    more = true;
    running ??= (async () => {
      try {
        while (more) {
          more = false;
          await work();
        }
      } finally {
        running = null;
      }
    })();
    return running;
  };
}
