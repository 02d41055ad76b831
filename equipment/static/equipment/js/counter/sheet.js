// What the counter knows by heart, fetched at the start and every few minutes: whose card, which crew, what is in a
// set, who has what. With the line cut it is all there is; otherwise it saves asking.

const FIELDS = ['id', 'number', 'name', 'crew', 'badge'];

export function createSheet() {
  let known = { cards: {}, crews: {}, sets: {}, out: {} };
  let people = new Map();

  const picker = (id) => people.get(id) ?? null;
  const crewName = (code) => known.crews[code] ?? code;

  const asHolder = (one, code = one.badge) => ({
    code, who: one.name, crew: one.crew ? { code: one.crew, name: crewName(one.crew) } : null,
  });

  return {
    read(data) {
      known = data;
      people = new Map(data.pickers.map((row) => {
        const one = Object.fromEntries(FIELDS.map((field, place) => [field, row[place]]));
        return [one.id, { ...one, key: fold(`${one.name} ${one.number} ${data.crews[one.crew] ?? ''}`) }];
      }));
    },
    crewName,
    set: (code) => known.sets[code] ?? [],

    // The person or crew a badge or crew tag stands for: {code, who, crew: {code, name} | null}, null if unknown.
    holder(code) {
      if (known.crews[code]) return { code, who: known.crews[code], crew: { code, name: known.crews[code] } };
      const one = picker(known.cards[code]);
      return one && asHolder(one, code);
    },

    // Who has an item, as far as is known here.
    has(tag) {
      const whose = known.out[tag];
      if (whose === undefined) return null;
      return typeof whose === 'string' ? this.holder(whose) : picker(whose) && asHolder(picker(whose));
    },
    gave(tag, holder) {
      known.out[tag] = known.cards[holder.code] ?? holder.code;
    },
    took(tag) {
      delete known.out[tag];
    },

    lend(badge, id) {
      known.cards[badge] = id;
      if (people.has(id)) people.set(id, { ...people.get(id), badge });
    },
    add(one) {
      people.set(one.id, { ...one, key: fold(`${one.name} ${one.number} ${crewName(one.crew)}`) });
    },

    // Pickers whose name, number or crew begin with each of the words typed, by name.
    find(text, most = 8) {
      const words = fold(text).split(' ').filter(Boolean);
      if (words.length === 0) return [];
      const fits = (one) => words.every((word) => ` ${one.key}`.includes(` ${word}`));
      return Array.from(people.values()).filter(fits).sort((a, b) => a.name.localeCompare(b.name, document.documentElement.lang)).slice(0, most);
    },
  };
}

// Lower case and without accents, so that "mateo" finds Matéo.
const fold = (text) => text.normalize('NFD').replace(/\p{M}/gu, '').toLowerCase().replace(/\s+/g, ' ').trim();
