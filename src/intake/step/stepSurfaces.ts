import type { RawNet } from '../checkedNet.ts';
import { stepPoint } from './stepPoint.ts';
import { flattened, type StepFile } from './stepFile.ts';
import { numberIn, numbersIn, textIn, type StepPart, type StepValue } from './stepValues.ts';

/** A B-spline surface as the file gives it: its own name, and the net in the file's unit. */
export interface StepSurface {
  readonly name: string;
  readonly raw: RawNet;
}

const layout = [
  ['REPRESENTATION_ITEM', 1],
  ['B_SPLINE_SURFACE', 7],
  ['B_SPLINE_SURFACE_WITH_KNOTS', 5],
  ['RATIONAL_B_SPLINE_SURFACE', 1],
] as const;

/** Runs of the same length, each of `count` references; null where they are not even. */
type Grid = readonly (readonly number[])[];

function pointGrid(value: StepValue | undefined): Grid | null {
  if (value?.kind !== 'list' || value.items.length === 0) return null;
  const grid: (readonly number[])[] = [];
  for (const item of value.items) {
    if (item.kind !== 'references') return null;
    grid.push(item.ids);
  }
  return grid;
}

/** Knots of ISO 10303-42's three types without a list, per direction. */
type KnotForm = 'BEZIER_SURFACE' | 'UNIFORM_SURFACE' | 'QUASI_UNIFORM_SURFACE';

/**
 * The knots that go without saying, or null where the number of points does not fit the type.
 * Source: ISO 10303-42, default_b_spline_knots and default_b_spline_knot_mult (from memory): distinct
 * knots are whole numbers one apart, from 0, or from -degree for uniform knots, so that the domain
 * starts at 0. Multiplicities: uniform 1; quasi-uniform degree + 1 at both ends, 1 between; Bezier
 * degree + 1 at both ends, degree between, for which degree must divide the count less one.
 */
export function impliedKnots(form: KnotForm, degree: number, count: number): Float64Array | null {
  const length = count + degree + 1;
  if (form === 'UNIFORM_SURFACE') return Float64Array.from({ length }, (_, k) => k - degree);
  const step = form === 'BEZIER_SURFACE' ? degree : 1;
  const spans = form === 'BEZIER_SURFACE' ? (count - 1) / degree : count - degree;
  if (!Number.isInteger(spans) || spans < 1) return null;
  return Float64Array.from({ length }, (_, k) =>
    Math.min(Math.max(Math.ceil((k - degree) / step), 0), spans),
  );
}

/** The knot vector of a list of distinct knots and one of multiplicities; a fault is told for null. */
function listedKnots(
  file: StepFile,
  record: number,
  direction: 'u' | 'v',
  lists: readonly [StepValue | undefined, StepValue | undefined],
  expected: number,
): Float64Array | null {
  const multiplicities = numbersIn(lists[0]);
  const values = numbersIn(lists[1]);
  if (!multiplicities || !values) {
    file.tellAt('step-argument', record, { what: `knots in ${direction}`, expected: 'numbers' });
    return null;
  }
  if (multiplicities.some((m) => !Number.isInteger(m) || m < 1)) {
    file.tellAt('step-argument', record, {
      what: `knot multiplicities in ${direction}`,
      expected: 'whole numbers from 1 on',
    });
    return null;
  }
  if (multiplicities.length !== values.length) {
    file.tellAt('wrong-count', record, {
      what: `distinct knots in ${direction}`,
      found: values.length,
      expected: multiplicities.length,
    });
    return null;
  }
  const found = multiplicities.reduce((total, m) => total + m, 0);
  // Multiplicities are bare numbers: nothing is allocated before they agree with what is there.
  if (found > expected) {
    file.tellAt('count-beyond-file', record, { what: `knots in ${direction}`, found, expected });
    return null;
  }
  const knots = new Float64Array(found);
  let at = 0;
  values.forEach((value, k) => {
    knots.fill(value, at, at + multiplicities[k]);
    at += multiplicities[k];
  });
  return knots;
}

function formOf(parts: readonly StepPart[]): KnotForm | 'listed' | null {
  const has = (type: string): boolean => parts.some((part) => part.type === type);
  if (has('B_SPLINE_SURFACE_WITH_KNOTS')) return 'listed';
  for (const form of ['BEZIER_SURFACE', 'UNIFORM_SURFACE', 'QUASI_UNIFORM_SURFACE'] as const)
    if (has(form)) return form;
  return null;
}

/** Points in our order (rows in v, each running in u) from the file's (u outer, v inner). */
function points(file: StepFile, record: number, grid: Grid): Float64Array | null {
  const columns = grid.length;
  const rows = grid[0].length;
  const coordinates = new Float64Array(3 * columns * rows);
  for (let i = 0; i < columns; i++)
    for (let j = 0; j < rows; j++) {
      const target = file.follow(record, grid[i][j]);
      if (target < 0) return null;
      const point = stepPoint(file, target);
      if (!point) {
        file.tellAt('step-argument', record, {
          what: `control point #${grid[i][j]}`,
          expected: 'CARTESIAN_POINT of three coordinates',
        });
        return null;
      }
      coordinates.set(point, 3 * (j * columns + i));
    }
  return coordinates;
}

function weights(
  file: StepFile,
  record: number,
  value: StepValue | undefined,
  columns: number,
  rows: number,
): Float64Array | null {
  const runs = value?.kind === 'list' ? value.items.map(numbersIn) : [];
  if (runs.length !== columns || runs.some((run) => run?.length !== rows)) {
    file.tellAt('wrong-count', record, {
      what: 'weights',
      found: runs.reduce((total, run) => total + (run?.length ?? 0), 0),
      expected: columns * rows,
    });
    return null;
  }
  const ordered = new Float64Array(columns * rows);
  runs.forEach((run, i) => run!.forEach((w, j) => (ordered[j * columns + i] = w)));
  return ordered;
}

/** Reads one B-spline surface; null where that cannot be done, with the reason told to the file. */
export function stepSurface(file: StepFile, record: number): StepSurface | null {
  const parts = file.parts(record);
  if (!parts) return null;
  const values = flattened(parts, layout);
  const form = formOf(parts);
  const wrong = (what: string, expected: string): null => {
    file.tellAt('step-argument', record, { what, expected });
    return null;
  };
  if (!form) return wrong('knots', 'B_SPLINE_SURFACE_WITH_KNOTS');
  const degree = [numberIn(values[1]), numberIn(values[2])] as const;
  if (degree[0] === null || degree[1] === null) return wrong('degree', 'two whole numbers');
  const grid = pointGrid(values[3]);
  if (!grid) return wrong('control points', 'lists of references');
  const columns = grid.length;
  const rows = grid[0].length;
  const uneven = grid.find((run) => run.length !== rows);
  if (uneven) {
    file.tellAt('wrong-count', record, {
      what: 'control points in v',
      found: uneven.length,
      expected: rows,
    });
    return null;
  }
  const knots: Float64Array[] = [];
  for (const side of [0, 1] as const) {
    const count = side === 0 ? columns : rows;
    const p = degree[side]!;
    const direction = side === 0 ? 'u' : 'v';
    // A degree out of range is told by checkedNet, which looks at it before the knots; here it only
    // must not shape an allocation.
    const fits = Number.isInteger(p) && p >= 1 && p < count;
    const lists = [values[8 + side], values[10 + side]] as const;
    const vector = !fits
      ? new Float64Array()
      : form === 'listed'
        ? listedKnots(file, record, direction, lists, count + p + 1)
        : impliedKnots(form, p, count);
    if (!vector) {
      if (form !== 'listed')
        file.tellAt('wrong-count', record, {
          what: `control points in ${direction}`,
          found: count,
          expected: Math.ceil((count - 1) / p) * p + 1,
        });
      return null;
    }
    knots.push(vector);
  }
  const rational = parts.find((part) => part.type === 'RATIONAL_B_SPLINE_SURFACE');
  const weighted = rational ? weights(file, record, rational.values[0], columns, rows) : null;
  if (rational && !weighted) return null;
  const coordinates = points(file, record, grid);
  if (!coordinates) return null;
  return {
    name: textIn(values[0]).trim(),
    raw: {
      degree: [degree[0], degree[1]],
      knots: [knots[0], knots[1]],
      columns,
      rows,
      points: coordinates,
      weights: weighted,
    },
  };
}
