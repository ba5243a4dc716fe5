import type { Atom } from '../../../../src/measure/locator/atoms.ts';

/** True where two atoms are of one kind and at one place: two ways to drift, profiles of one line. */
export const areTwins = (a: Atom, b: Atom): boolean =>
  a.kind === b.kind && a.i === b.i && a.j === b.j;

/** True where two atoms are at one place: a point and its drift, profiles of one line. */
export const shareSite = (a: Atom, b: Atom): boolean =>
  (a.kind === 'line') === (b.kind === 'line') && a.i === b.i && a.j === b.j;
