// Times and spans as people say them. Pure: the farm's time zone and the words are given.

import { farmDate } from '../domain/time.js';

// 10:40 on the farm's clock; on another day with the weekday before it.
export function createTimes({ zone, language, say }) {
  const clock = new Intl.DateTimeFormat(language, { hour: '2-digit', minute: '2-digit', hourCycle: 'h23', timeZone: zone });
  // Made when it is wanted: formats are slow to make, and the page is to open at once.
  let weekday = null;
  const dayName = (ms) => (weekday ??= new Intl.DateTimeFormat(language, { weekday: 'short', timeZone: zone })).format(new Date(ms));
  const day = (ms) => farmDate(ms * 1000, zone);

  return {
    day,
    time: (ms) => clock.format(new Date(ms)),
    moment: (ms, now) => (day(ms) === day(now) ? clock.format(new Date(ms)) : `${dayName(ms)} ${clock.format(new Date(ms))}`),
    // 25 seconds, 12 min, 3 h 05
    span(ms) {
      const minutes = Math.max(0, Math.floor(ms / 60_000));
      if (minutes < 1) return say('span_moment');
      if (minutes < 60) return say('span_minutes', { n: minutes });
      if (minutes < 2880) return say('span_hours', { h: Math.floor(minutes / 60), m: String(minutes % 60).padStart(2, '0') });
      return say('span_days', { n: Math.floor(minutes / 1440) });
    },
    countdown: (ms) => `${Math.floor(Math.ceil(ms / 1000) / 60)}:${String(Math.ceil(ms / 1000) % 60).padStart(2, '0')}`,
    // "10:40" of the day of `now`, as ms; never later than now: 23:50 typed just after midnight is yesterday's.
    at(text, now) {
      const [hour, minute] = text.split(':').map(Number);
      const [nowHour, nowMinute] = clock.format(new Date(now)).split(':').map(Number);
      const back = nowHour * 60 + nowMinute - (hour * 60 + minute);
      return Math.floor(now / 60_000) * 60_000 - (back < 0 ? back + 1440 : back) * 60_000;
    },
  };
}
