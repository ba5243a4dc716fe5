import { axisPlacement, composed, undone, type Placement } from '../../geometry/placement.ts';
import { cross, difference, dot, scaled, unit, type Vector } from '../../geometry/vector.ts';
import { stepPoint } from './stepPoint.ts';
import type { StepFile } from './stepFile.ts';
import { numberIn, numbersIn, referenceIn, type StepValue } from './stepValues.ts';

const axisLayout = [
  ['REPRESENTATION_ITEM', 1],
  ['PLACEMENT', 1],
  ['AXIS2_PLACEMENT_3D', 2],
] as const;
const operatorLayout = [
  ['REPRESENTATION_ITEM', 1],
  ['FUNCTIONALLY_DEFINED_TRANSFORMATION', 2],
  ['CARTESIAN_TRANSFORMATION_OPERATOR', 4],
  ['CARTESIAN_TRANSFORMATION_OPERATOR_3D', 1],
] as const;
const directionLayout = [
  ['REPRESENTATION_ITEM', 1],
  ['DIRECTION', 1],
] as const;

/** A direction, `fallback` where the attribute is left out, null where it is there but no use. */
export function directionOf(
  file: StepFile,
  from: number,
  value: StepValue | undefined,
  fallback: Vector | null,
): Vector | null {
  if (!value || value.kind === 'none') return fallback;
  const record = file.followed(from, referenceIn(value));
  const ratios = record < 0 ? null : numbersIn(file.attributes(record, directionLayout)?.[1]);
  return ratios?.length === 3 ? unit([ratios[0], ratios[1], ratios[2]]) : null;
}

function originOf(
  file: StepFile,
  from: number,
  value: StepValue | undefined,
  millimetres: number,
): Vector | null {
  const record = file.followed(from, referenceIn(value));
  const point = record < 0 ? null : stepPoint(file, record);
  return point && scaled(point, millimetres);
}

/** The direction that stands in for x where none is given: ISO 10303-42, first_proj_axis. */
const usualX = (z: Vector): Vector => (Math.abs(z[0]) === 1 ? [0, 1, 0] : [1, 0, 0]);

/**
 * The frame of an AXIS2_PLACEMENT_3D, its origin in millimetres; null where it is none. Source:
 * ISO 10303-42, axis2_placement_3d, build_axes.
 */
export function axisFrame(file: StepFile, record: number, millimetres: number): Placement | null {
  if (!file.is(record, ['AXIS2_PLACEMENT_3D'])) return null;
  const values = file.attributes(record, axisLayout);
  if (!values) return null;
  const origin = originOf(file, record, values[1], millimetres);
  const z = directionOf(file, record, values[2], [0, 0, 1]);
  const x = z && directionOf(file, record, values[3], usualX(z));
  return origin && z && x && axisPlacement(origin, z, x);
}

/**
 * A CARTESIAN_TRANSFORMATION_OPERATOR_3D: turn, mirror where axis2 says so, one scale. Source:
 * ISO 10303-42, base_axis, first_proj_axis, second_proj_axis.
 */
function operatorPlacement(file: StepFile, record: number, millimetres: number): Placement | null {
  const values = file.attributes(record, operatorLayout);
  if (!values) return null;
  const [, , , axis1, axis2, local, size, axis3] = values;
  const origin = originOf(file, record, local, millimetres);
  const z = directionOf(file, record, axis3, [0, 0, 1]);
  const xGiven = z && directionOf(file, record, axis1, usualX(z));
  const x = z && xGiven && unit(difference(xGiven, scaled(z, dot(z, xGiven))));
  if (!origin || !z || !x) return null;
  const right = cross(z, x);
  const yGiven = directionOf(file, record, axis2, [0, 1, 0]);
  const scale = size?.kind === 'none' ? 1 : numberIn(size);
  if (!yGiven || scale === null || !(scale > 0) || !Number.isFinite(scale)) return null;
  const y = dot(right, yGiven) < -1e-12 ? scaled(right, -1) : right;
  const row = (k: 0 | 1 | 2): Vector => [x[k] * scale, y[k] * scale, z[k] * scale];
  return { rotation: [row(0), row(1), row(2)], shift: origin };
}

/** The placement an item stands for as the target of a mapping, in millimetres. */
export function targetPlacement(
  file: StepFile,
  record: number,
  millimetres: number,
): Placement | null {
  return file.is(record, ['CARTESIAN_TRANSFORMATION_OPERATOR_3D'])
    ? operatorPlacement(file, record, millimetres)
    : axisFrame(file, record, millimetres);
}

/** Takes what stands at `from` to where it stands at `to`; both frames in millimetres. */
export const fromFrameToFrame = (from: Placement | null, to: Placement | null): Placement | null =>
  from && to && composed(to, undone(from));
