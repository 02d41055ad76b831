import { read } from './reader.js';
import { screens } from './screens.js';

// Scanner, typing and camera all come here. The screen may want it for itself; else it leads to what was read.
export function scanned(ctx, drawing, text) {
  const { day, say, tell } = ctx;
  if (!day.sheet()) return tell.no(ctx.noSheet());
  const faultTags = Object.fromEntries(day.sheet().faults.filter((fault) => fault.tag).map((fault) => [fault.tag, fault.code]));
  const found = read(text, { prefixes: ctx.given.prefixes, faultTags });
  if (found.what === 'wrong_check') return tell.no(say('wrong_check', { code: found.code }), say('again'));
  if (found.what === 'not_a_code') return tell.no(say('not_a_code'), say('again'));
  const { name, args } = drawing.where();
  if (screens[name].scan?.(ctx, args, found)) return undefined;
  if (found.what === 'item') return ctx.go('piece', found.code);
  if (found.what === 'badge') return day.byBadge(found.code) ? ctx.go('picker', day.byBadge(found.code).picker) : tell.no(say('unknown_badge'), say('unknown_badge_more'));
  if (found.what === 'bath') {
    ctx.nextRound = { bath: found.code };
    return ctx.go('dip');
  }
  return tell.no(say('no_use_here'), found.code);
}
