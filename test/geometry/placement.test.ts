import fc from 'fast-check';
import { expect, test } from 'vitest';
import {
  axisPlacement,
  composed,
  inPlace,
  placedPoint,
  undone,
  type Placement,
} from '../../src/geometry/placement.ts';
import { cross, distance, dot, length, unit, type Vector } from '../../src/geometry/vector.ts';

const coordinate = fc.double({ min: -1000, max: 1000, noNaN: true });
const vector = fc.tuple(coordinate, coordinate, coordinate) as fc.Arbitrary<Vector>;
const none: Vector = [0, 0, 0];
const placement = fc
  .tuple(vector, vector, vector)
  // Well away from parallel, where the frame is not sensitive to rounding.
  .filter(
    ([, axis, reference]) => length(cross(unit(axis) ?? none, unit(reference) ?? none)) > 0.01,
  )
  .map(([origin, axis, reference]) => axisPlacement(origin, axis, reference))
  .filter((found): found is Placement => found !== null);

test('a placement keeps distances, and is right-handed with z along its axis', () => {
  fc.assert(
    fc.property(placement, vector, vector, (p, a, b) => {
      expect(distance(placedPoint(p, a), placedPoint(p, b))).toBeCloseTo(distance(a, b), 9);
      const [x, y, z] = p.rotation;
      expect(dot(x, y)).toBeCloseTo(0, 9);
      expect(dot(x, cross(y, z))).toBeCloseTo(1, 9);
    }),
  );
});

test('composing is doing one after the other, and undoing takes it back', () => {
  fc.assert(
    fc.property(placement, placement, vector, (outer, inner, p) => {
      const both = placedPoint(composed(outer, inner), p);
      expect(distance(both, placedPoint(outer, placedPoint(inner, p)))).toBeLessThan(1e-9);
      expect(distance(placedPoint(composed(undone(outer), outer), p), p)).toBeLessThan(1e-9);
    }),
  );
});

// ISO 10303-42, axis2_placement_3d: axis gives z, ref_direction made square to it gives x.
test('a placement by hand', () => {
  const p = axisPlacement([10, 0, 0], [0, 0, 2], [1, 1, 5])!;
  const at = placedPoint(p, [Math.SQRT2, 0, 3]);
  [11, 1, 3].forEach((value, axis) => expect(at[axis]).toBeCloseTo(value, 12));
  expect(placedPoint(inPlace, [1, 2, 3])).toEqual([1, 2, 3]);
  expect(axisPlacement([0, 0, 0], [0, 0, 1], [0, 0, -3])).toBeNull();
  expect(axisPlacement([0, 0, 0], [0, 0, 0], [1, 0, 0])).toBeNull();
});
