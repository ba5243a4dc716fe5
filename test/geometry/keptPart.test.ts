import { expect, test } from 'vitest';
import { keptPart, keptShare } from '../../src/geometry/keptPart.ts';
import { ellipseArc } from '../../src/geometry/splineCurve.ts';
import { trimmedRegion } from '../../src/geometry/trimRegion.ts';
import { briefOf } from '../../src/rules/brief.ts';
import { isSpecFault, specOf } from '../../src/rules/spec.ts';
import type { ControlNet } from '../../src/geometry/controlNet.ts';

/** A plane square of 1000 mm, x = 1000 u, y = 1000 v. */
const square: ControlNet = {
  degree: [1, 1],
  knots: [Float64Array.of(0, 0, 1, 1), Float64Array.of(0, 0, 1, 1)],
  columns: 2,
  rows: 2,
  points: Float64Array.of(0, 0, 0, 1000, 0, 0, 0, 1000, 0, 1000, 1000, 0),
  weights: null,
};

function specWith(keep: unknown): ReturnType<typeof specOf> {
  const panels = [{ names: ['hood*'], keep }];
  return specOf(JSON.stringify({ format: 'hullsight-spec', version: 1, panels }));
}

function keepOf(keep: unknown) {
  const spec = specWith(keep);
  if (isSpecFault(spec)) throw new Error(JSON.stringify(spec));
  return briefOf({ spec, ownRules: [], only: null }).keepOf;
}

test.each([
  [
    'a box',
    [
      { axis: 'x', from: 100, to: 600 },
      { axis: 'y', to: 500 },
    ],
    0.25,
  ],
  ['one side of an axis', [{ axis: 'y', from: 750 }], 0.25],
  ['one side of a plane', [{ through: [500, 500, 0], away: [1, 1, 0] }], 0.5],
  ['nothing', [{ axis: 'z', from: 1 }], 0],
])('what the spec keeps: %s', (_, keep, share) => {
  const of = keepOf(keep);
  const kept = keptPart(square, null, of('hood-left'));
  // half a look either way along each side of the square
  expect(Math.abs(keptShare(square, kept)! - share)).toBeLessThan(2 / 24);
  expect(of('tail')).toEqual([]);
});

test('on its planes it is border; the panel is outside beyond them, whatever its trim says', () => {
  const keep = keepOf([{ axis: 'x', to: 500 }])('hood');
  const disc = trimmedRegion(
    square,
    [[{ plane: ellipseArc([0.5, 0.5], [0.4, 0], [0, 0.4], 0, 2 * Math.PI), space: null }]],
    1e-3,
  );
  if ('trouble' in disc) throw new Error(disc.trouble);
  const kept = keptPart(square, disc, keep);
  expect([kept(0.4, 0.5), kept(0.6, 0.5), kept(0.5, 0.5), kept(0.05, 0.5)]).toEqual([
    'inside',
    'outside',
    'border',
    'outside',
  ]);
  expect(keptShare(square, kept)).toBeCloseTo((Math.PI * 0.16) / 2, 1);
});

test.each([
  ['an axis that is none', [{ axis: 'w', from: 1 }], 'shape'],
  ['an axis with nothing said', [{ axis: 'x' }], 'shape'],
  ['from behind to', [{ axis: 'x', from: 5, to: 5 }], 'shape'],
  ['a direction without length', [{ through: [0, 0, 0], away: [0, 0, 0] }], 'shape'],
  ['an empty list', [], 'shape'],
])('a spec with %s is told', (_, keep, code) => {
  expect(specWith(keep)).toMatchObject({ code });
});
