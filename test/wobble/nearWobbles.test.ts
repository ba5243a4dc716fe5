import { expect, test } from 'vitest';
import { seededRandom, type SeededRandom } from '../../fixtures/seededRandom.ts';
import { scanBody } from '../../src/geometry/scanBody.ts';
import { wobbleCauses, type WobbleCause } from '../../src/measure/wobbleCause.ts';
import { bump, suspectAt, wobblyPanel, wobblyScan } from '../measure/wobblyPanel.ts';
import { eitherSign } from './fields.ts';

interface Answer {
  readonly cause: WobbleCause['cause'];
  readonly isScans: boolean;
  /** Of the share. */
  readonly error: number;
}

/** Two bumps 0.6 to 1.25 wavelengths apart, each the model's or the scan's: asked together, and one by one. */
function pair(random: SeededRandom): { readonly joint: Answer[]; readonly alone: Answer[] } {
  const wave = random.between(100, 140);
  const apart = random.between(0.6, 1.25) * wave;
  const turn = random.between(0, 2 * Math.PI);
  const first = [random.between(-40, 40), random.between(-30, 30)];
  const places = [first, [first[0] + apart * Math.cos(turn), first[1] + apart * Math.sin(turn)]];
  const bumps = places.map(([x, y]) =>
    bump(x, y, wave, eitherSign(random) * random.between(0.15, 0.5)),
  );
  const isScans = bumps.map(() => random.uniform() < 0.5);
  const net = wobblyPanel((x, y) => bumps[0](x, y) + bumps[1](x, y));
  const mesh = wobblyScan(
    (x, y) => bumps.reduce((all, own, k) => all + (isScans[k] ? own(x, y) : 0), 0),
    0.02,
  );
  const astray = (): number => random.between(-0.1, 0.1) * wave;
  const suspects = places.map(([x, y]) =>
    suspectAt(x + astray(), y + astray(), wave * random.between(0.8, 1.2)),
  );
  const scan = scanBody(mesh);
  const surface = { net, outward: 1, kept: null } as const;
  const answer = ({ cause, share }: WobbleCause, k: number): Answer => ({
    cause,
    isScans: isScans[k],
    error: Math.abs(share - Number(isScans[k])),
  });
  return {
    joint: wobbleCauses(surface, scan, suspects).map(answer),
    alone: suspects.map((one, k) => answer(wobbleCauses(surface, scan, [one])[0], k)),
  };
}

/** The error that a share of the answers does not exceed. */
const errorOf = (answers: readonly Answer[], share: number): number =>
  answers.map(({ error }) => error).sort((a, b) => a - b)[Math.ceil(share * answers.length) - 1];

test('wobbles near each other are told apart when asked about together, better than one by one', () => {
  const random = seededRandom(9);
  const pairs = Array.from({ length: 10 }, () => pair(random));
  const joint = pairs.flatMap((one) => one.joint);
  const alone = pairs.flatMap((one) => one.alone);
  for (const { cause, isScans } of joint) expect(cause).toBe(isScans ? 'scan' : 'model');
  for (const { cause, isScans } of alone) expect(cause).not.toBe(isScans ? 'model' : 'scan');
  expect(errorOf(joint, 0.5)).toBeLessThan(0.02);
  expect(errorOf(joint, 0.9)).toBeLessThan(0.1);
  expect(errorOf(alone, 0.9)).toBeGreaterThan(2 * errorOf(joint, 0.9));
}, 60_000);
