import type { ControlNet } from '../../geometry/controlNet.ts';
import { joinedPatches, type PatchGrid } from '../../geometry/joinedPatches.ts';
import { checkedNet, isFault, type RawNet } from '../checkedNet.ts';
import { fault, type Fault, type Notice } from '../fault.ts';
import { patchTolerance } from '../joinTolerance.ts';
import { millimetre } from '../lengthUnit.ts';
import { basisShares } from './objCurve.ts';
import { bezierKnots, pointCount, segmentFault } from './objDirection.ts';
import type { ObjElement } from './objElements.ts';
import type { ObjPoints } from './objPoints.ts';

/** The format states no resolution: patches hang together as finely as any file keeps them. */
const patchResolution = 0;

/** Points of one surface, once it is made of patches, over which a file is no model but a trap. */
const mostPoints = 5_000_000;

/** The nets of a surface (several where its patches do not meet), and what to tell of them. */
export interface ObjNets {
  readonly nets: readonly ControlNet[];
  readonly notices: readonly Notice[];
}

/** Whether a surface is of a kind that is counted and not read. */
export function unjudgedKind({ attributes: { type, rational } }: ObjElement): string | null {
  if (type === 'cardinal' || type === 'taylor') return `OBJ ${type} surface`;
  return type === 'bmatrix' && rational ? 'OBJ rational basis matrix surface' : null;
}

/** Points of an element in millimetres with their weights, or the index that means none. */
function pointsOf(
  { points: numbers, attributes, place }: ObjElement,
  vertices: ObjPoints,
): Pick<RawNet, 'points' | 'weights'> | Fault {
  const missing = numbers.find((number) => number > vertices.count);
  if (missing !== undefined)
    return fault('obj-index', place, { what: 'vertex', found: missing, held: vertices.count });
  const points = new Float64Array(3 * numbers.length);
  numbers.forEach((number, k) => {
    for (let axis = 0; axis < 3; axis++) points[3 * k + axis] = vertices.get(number, axis);
  });
  const weights = attributes.rational
    ? Float64Array.from(numbers, (number) => vertices.get(number, 3))
    : null;
  return { points, weights };
}

/** The patches of a surface on basis matrices as Bezier patches, which they are exactly. */
function matrixGrid(
  { attributes }: ObjElement,
  columns: number,
  points: Float64Array,
  breakpoints: readonly [Float64Array, Float64Array],
): PatchGrid {
  const { degree, step, matrices } = attributes;
  const [p, q] = degree;
  const [along, across] = [basisShares(matrices[0]!, p), basisShares(matrices[1]!, q)];
  const patches: Float64Array[] = [];
  for (let b = 0; b + 1 < breakpoints[1].length; b++)
    for (let a = 0; a + 1 < breakpoints[0].length; a++) {
      const patch = new Float64Array(3 * (p + 1) * (q + 1));
      // Bezier points in u of each row of the patch, then Bezier points in v of these.
      for (let j = 0; j <= q; j++) {
        const row = new Float64Array(3 * (p + 1));
        for (let i = 0; i <= p; i++) {
          const from = 3 * ((b * step[1] + j) * columns + a * step[0] + i);
          for (let k = 0; k <= p; k++)
            for (let axis = 0; axis < 3; axis++)
              row[3 * k + axis] += along[i][k] * points[from + axis];
        }
        for (let l = 0; l <= q; l++)
          row.forEach((value, at) => {
            patch[3 * l * (p + 1) + at] += across[j][l] * value;
          });
      }
      patches.push(patch);
    }
  return { degree: [p, q], breakpoints, patches };
}

/** What `deg`, `cstype`, `parm` and the points of a surface make: its net, or what is wrong with it. */
export function objSurface(element: ObjElement, vertices: ObjPoints): ObjNets | Fault {
  const { place, attributes } = element;
  const wrong = segmentFault(element, 0) ?? segmentFault(element, 1);
  if (wrong) return wrong;
  const [columns, rows] = [pointCount(element, 0), pointCount(element, 1)];
  const degree = [attributes.degree[0], attributes.degree[1]] as const;
  const found = element.points.length;
  if (columns > degree[0] && rows > degree[1] && columns * rows !== found)
    return fault('wrong-count', place, { what: 'points', found, expected: columns * rows });
  const own = pointsOf(element, vertices);
  if ('code' in own) return own;
  const [u, v] = element.parameters.map((values) => Float64Array.from(values!));
  if (attributes.type === 'bmatrix') {
    const count = (u.length - 1) * (v.length - 1) * (degree[0] + 1) * (degree[1] + 1);
    if (count > mostPoints) return fault('too-deep', place, { what: 'points', most: mostPoints });
    const unsound = own.points.findIndex((value) => !Number.isFinite(value));
    if (unsound >= 0)
      return fault('not-finite', place, { what: `point ${Math.floor(unsound / 3) + 1}` });
    const grid = matrixGrid(element, columns, own.points, [u, v]);
    return joinedNets(grid, element);
  }
  const knots: RawNet['knots'] =
    attributes.type === 'bspline' ? [u, v] : [bezierKnots(u, degree[0]), bezierKnots(v, degree[1])];
  const net = checkedNet({ degree, knots, columns, rows, ...own }, place);
  return isFault(net) ? net : { nets: [net], notices: [] };
}

function joinedNets(grid: PatchGrid, { place }: ObjElement): ObjNets | Fault {
  const { nets, gap } = joinedPatches(
    grid,
    patchTolerance(grid.patches, patchResolution, millimetre),
  );
  const checked: ControlNet[] = [];
  for (const raw of nets) {
    const net = checkedNet(raw, place);
    if (isFault(net)) return net;
    checked.push(net);
  }
  return {
    nets: checked,
    notices:
      nets.length > 1
        ? [{ code: 'patches-apart', place, data: { found: nets.length, gap, unit: 'mm' } }]
        : [],
  };
}
