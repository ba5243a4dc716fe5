import { expect, test } from 'vitest';
import { seededRandom } from '../../../fixtures/seededRandom.ts';
import { pulls, stiffnesses } from '../../../src/measure/locator/atomPulls.ts';
import type { PanelModel } from '../../../src/measure/locator/panelModel.ts';
import { anyModel } from './anyModel.ts';

/** The sum over axes and coefficients of a pattern (or its square) times x, atom by atom. */
function plainSums(
  { atoms, spectrum }: PanelModel,
  x: readonly Float64Array[],
  power: 1 | 2,
): number[] {
  const { count } = spectrum.degrees;
  return atoms.list.map((_, atom) => {
    atoms.fill(atom);
    return x.reduce(
      (total, values, axis) =>
        values.reduce(
          (sum, value, c) => sum + atoms.patterns[axis][atom * count + c] ** power * value,
          total,
        ),
      0,
    );
  });
}

test.each([
  ['pulls', pulls, 1],
  ['stiffnesses', stiffnesses, 2],
] as const)('%s are what the patterns give, summed one by one', (_, summed, power) => {
  for (let seed = 1; seed <= 12; seed++) {
    const model = anyModel(seed);
    const random = seededRandom(seed);
    const x = [0, 1, 2].map(() =>
      Float64Array.from({ length: model.spectrum.degrees.count }, () =>
        power === 1 ? random.normal() : random.uniform(),
      ),
    );
    const made = summed(model, x);
    const plain = plainSums(model, x, power);
    expect(made).toHaveLength(plain.length);
    const scale = Math.max(...plain.map(Math.abs));
    plain.forEach((value, atom) => expect(Math.abs(made[atom] - value)).toBeLessThan(1e-9 * scale));
  }
});
