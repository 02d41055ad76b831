// From what the book answered to what the counter says: {outcome, say, tag, about, why: [], instead}. Pure: the words are given.
//
// `conditions` are the codes of which the book itself says why, since when and what to do: see `reasons` of its answers.

// "%(who)s has it" and {who: 'Ana'} -> "Ana has it", as Python fills it.
export function fill(template, values = {}) {
  return template.replace(/%\((\w+)\)s/g, (whole, name) => values[name] ?? '…').replaceAll('%%', '%');
}

export function createAnswers({ words, refused, kinds, conditions }) {
  const say = (name, values) => fill(words[name], values);
  const kind = (code) => kinds[code] ?? '';
  const list = (things) => things.map((one) => (one.quantity > 1 ? `${one.name} × ${one.quantity}` : one.name)).join(', ');

  function no(code, values = {}, more = {}) {
    const known = refused[code];
    if (!known) return { outcome: 'no', say: values.say || code, why: [], instead: '', ...more };
    const why = [known.why, values.say].filter(Boolean).map((text) => fill(text, values));
    return { outcome: 'no', say: fill(known.say, values), why, instead: fill(known.instead, values), ...more };
  }

  const keptFor = (answer) => (answer?.codes ?? []).filter((code) => conditions.includes(code));
  const told = (answer, wanted) => (answer.reasons ?? []).filter(wanted).map((reason) => reason.say);
  const against = (answer) => told(answer, ({ code, blocks }) => blocks && keptFor(answer).includes(code));

  // What to take instead, as the book looked it up; "" where it did not look.
  function instead({ state }) {
    if (state?.instead) return say('take_instead', { tag: state.instead });
    return state && 'instead' in state ? say('none_instead') : '';
  }

  return {
    say,
    kind,
    // The conditions of the piece itself that an answer was refused for.
    keptFor,
    // What the gate says to something that goes out all the same.
    beside: (answer) => told(answer, ({ code, blocks }) => !blocks && code !== 'wrong_size'),
    list,
    no,

    yes: (text, more = {}) => ({ outcome: 'yes', say: text, why: [], ...more }),
    ready: (text, more = {}) => ({ outcome: 'none', say: text, why: [], ...more }),
    partial: (text, more = {}) => ({ outcome: 'partial', say: text, why: [], ...more }),

    // A scan that went into the outbox.
    noted: (more = {}) => ({ outcome: 'note', say: words.noted, why: [], ...more }),

    // One refused answer of the book. `values` are names for the words: who, from.
    refusal(answer, values = {}) {
      const { tag, kind: kindCode, store } = answer.state ?? {};
      const code = refused[answer.code] ? answer.code : 'unworded';
      const spoken = code === 'unworded' ? { ...values, say: answer.say } : { ...values, store };
      const shown = no(values.as ?? code, spoken, { tag: tag || values.tag, about: kind(kindCode) });
      if (values.as) return shown;
      const only = conditions.includes(code) && instead(answer) ? '' : shown.instead;
      return { ...shown, why: [...shown.why, ...against(answer)], instead: [only, instead(answer)].filter(Boolean).join(' ') };
    },

    // Why a piece of a set stays here, in half a line.
    stays(answer, values = {}) {
      if (conditions.includes(answer.code)) return [...against(answer), instead(answer)].filter(Boolean).join(' ');
      const reason = refused[answer.code] ? fill(refused[answer.code].say, { ...values, store: answer.state?.store }) : answer.say;
      return say('stays', { tag: answer.state?.tag ?? '', kind: kind(answer.state?.kind), why: reason });
    },

    stillToGive: (missing) => say('still_to_give', { what: list(missing) }),
  };
}
