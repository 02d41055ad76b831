// Draws the screen that the address names, and draws it again when something has changed, without moving what a thumb or
// a reader is at: where nothing has changed nothing is touched.

import { h } from './dom.js';

export function createDrawing(root, { slot, screens, ctx, say }) {
  let shown = null;

  // The way back stands on every screen but the four of the bar.
  const back = (name) => (slot.bar(name) ? null : h('a', { class: 'back', href: '#', onclick: goBack, key: 'back' }, say('back')));

  function goBack(event) {
    event.preventDefault();
    history.back();
  }

  function made(name, args) {
    if (!ctx.day.sheet() && name !== 'phone' && name !== 'crews') return [h('h1', {}, say('orchard')), h('p', { class: 'lead' }, ctx.noSheet())];
    return [back(name), ...screens[name].draw(ctx, args)].flat(Infinity);
  }

  function draw({ name, args }, { fresh }) {
    const screen = h('div', { class: 'screen', 'data-slot': 'screen', 'data-screen': name }, made(name, args));
    const before = root.querySelector('[data-slot="screen"]');
    if (!fresh && before.isEqualNode(screen)) return;
    const focus = document.activeElement?.dataset?.key;
    before.replaceWith(screen);
    screen.dispatchEvent(new CustomEvent('content-replaced', { bubbles: true }));
    if (!fresh && focus) screen.querySelector(`[data-key="${CSS.escape(focus)}"]`)?.focus({ preventScroll: true });
  }

  return {
    // Another screen: from its top, announced by its heading.
    show(where) {
      const moved = shown?.name !== where.name || shown?.args.join() !== where.args.join();
      if (moved) Object.assign(ctx, { round: { ...ctx.nextRound }, pending: ctx.pending?.piece === where.args[0] ? ctx.pending : null });
      ctx.nextRound = {};
      const first = shown === null;
      shown = where;
      draw(where, { fresh: moved });
      slot.current(where.name);
      // On opening there is nothing to leave, and measuring the page would only hold it up.
      if (!moved || first) return;
      window.scrollTo({ top: 0, behavior: 'instant' });
      ctx.tell.old();
      const heading = root.querySelector('.screen h1');
      heading?.setAttribute('tabindex', '-1');
      heading?.focus({ preventScroll: true });
      document.title = `${heading?.textContent ?? say('orchard')} · Shedbook`;
    },
    // Asked for by a hand: whatever the screen is.
    again: () => shown && draw(shown, { fresh: false }),
    // By itself: a screen with half an answer in it stays as it is.
    refresh: () => shown && !screens[shown.name].still && draw(shown, { fresh: false }),
    where: () => shown,
  };
}

const SOON = 500; // ms: a page that nobody looks at is not painted

// What was drawn by now is on the glass.
export const painted = () => new Promise((resolve) => {
  setTimeout(resolve, SOON);
  requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(resolve)));
});
