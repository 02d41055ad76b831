// What is in the baths now, kept in the browser's storage so that a reload loses no piece and no minute.
//
// A group is the pieces that went in together: {id, way, pieces: [{tag, about}], started, closed, rang, early, outAt,
// entries}. `started` is when the last of them went in: only that counts. `closed`: the next piece begins another group.
// `rang`: its time was called. `early`: it was asked about. `outAt`: when it came out; `entries`: on their way to the book.

import { uuid7 } from '../counter/uuid7.js';

export const MOST = 500; // pieces, as many as the book takes at once

// Milliseconds until the group may come out; 0 where its time is up or no time is asked for.
export const left = (group, now) => Math.max(0, group.started + group.way.needs * 1000 - (group.outAt ?? now));

// Whole seconds that its last piece has been in.
export const lasted = (group, now) => Math.max(0, Math.floor(((group.outAt ?? now) - group.started) / 1000));

export function createGroups(storage, key) {
  let state = read();

  function read() {
    try {
      return { way: null, groups: [], ...JSON.parse(storage.getItem(key) ?? '{}') };
    } catch {
      return { way: null, groups: [] };
    }
  }

  function save() {
    try {
      storage.setItem(key, JSON.stringify(state));
    } catch {
      // Full: this window still knows, a reload would not.
    }
  }

  const open = (code) => state.groups.find((group) => group.way.code === code && !group.closed && !group.outAt) ?? null;

  return {
    save,
    // Another window of this browser has changed it.
    reread() {
      state = read();
    },
    all: () => state.groups,
    way: () => state.way,
    choose(code) {
      state.way = code;
      save();
    },
    open,
    // How many pieces this page has for a bath that the book does not know of yet.
    waiting: (code) => state.groups.filter((group) => group.way.code === code).reduce((sum, group) => sum + group.pieces.length, 0),
    has: (tag) => state.groups.some((group) => group.pieces.some((piece) => piece.tag === tag)),

    add(way, piece, at) {
      let group = open(way.code);
      if (!group) {
        group = { id: uuid7(), way, pieces: [], closed: false, rang: false, early: false, outAt: null, entries: null };
        state.groups.push(group);
      }
      group.pieces.push(piece);
      Object.assign(group, { started: at, rang: false });
      save();
      return group;
    },
    // Takes a piece off the list again; the others keep their time.
    drop(group, tag) {
      group.pieces = group.pieces.filter((piece) => piece.tag !== tag);
      if (group.pieces.length === 0) this.remove(group);
      save();
    },
    remove(group) {
      state.groups = state.groups.filter((each) => each.id !== group.id);
      save();
    },
    close(group) {
      group.closed = true;
      save();
    },
    // The group that is meant by "out": of those of `code` (all where it is null) the oldest that is ready, else the open one.
    meant(code, now) {
      const those = state.groups.filter((group) => !group.entries && (code === null || group.way.code === code));
      return those.find((group) => group.way.needs > 0 && left(group, now) === 0) ?? open(code ?? state.way) ?? those[0] ?? null;
    },
    sending: () => state.groups.filter((group) => group.entries),
    forgetAsked() {
      for (const group of state.groups) group.early = false;
    },
  };
}
