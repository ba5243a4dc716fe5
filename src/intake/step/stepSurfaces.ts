import type { RawNet } from '../checkedNet.ts';
import { stepPoint } from './stepPoint.ts';
import { flattened, type StepFile } from './stepFile.ts';
import { impliedKnots, knotForm, listedKnots } from './stepKnots.ts';
import { numberIn, numbersIn, textIn, type StepValue } from './stepValues.ts';

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
  const form = knotForm(parts, 'SURFACE');
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
        ? listedKnots(file, record, ` in ${direction}`, lists, count + p + 1)
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
