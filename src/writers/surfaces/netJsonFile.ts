import type { ControlNet } from '../../geometry/controlNet.ts';
import type { SplineCurve } from '../../geometry/splineCurve.ts';
import type { TrimLoop, TrimRegion } from '../../geometry/trimRegion.ts';
import { millimetre } from '../../intake/lengthUnit.ts';
import type { Panel } from '../../intake/panel.ts';
import { ownNumber } from './ownNumber.ts';
import { Remarks, type SurfaceFile, type WrittenSurfaces } from './surfaceFile.ts';

/** Units that the schema knows (src/intake/net.schema.json). */
const units: ReadonlySet<string> = new Set(['mm', 'cm', 'm', 'in', 'ft']);

const list = (items: readonly string[]): string => `[${items.join(', ')}]`;

/** The shortest digits that read back as the same double; JSON.stringify would lose the sign of -0. */
export const jsonNumber = (value: number): string =>
  Object.is(value, -0) ? '-0.0' : JSON.stringify(value);

const numbers = (values: ArrayLike<number>): string => list(Array.from(values, jsonNumber));

function rowText(net: ControlNet, row: number, own: (mm: number) => number): string {
  const points = Array.from({ length: net.columns }, (_, column) => {
    const at = 3 * (row * net.columns + column);
    return numbers(net.points.subarray(at, at + 3).map(own));
  });
  return list(points);
}

function weightsText({ weights, rows, columns }: ControlNet): string {
  if (!weights) return 'null';
  const lines = Array.from({ length: rows }, (_, row) =>
    numbers(weights.subarray(row * columns, (row + 1) * columns)),
  );
  return `[\n        ${lines.join(',\n        ')}\n      ]`;
}

const curveText = ({ degree, knots, points, weights }: SplineCurve): string =>
  `{ "degree": ${degree}, "knots": ${numbers(knots)}, "points": ${list(
    Array.from({ length: points.length / 2 }, (_, k) => numbers(points.subarray(2 * k, 2 * k + 2))),
  )}${weights ? `, "weights": ${numbers(weights)}` : ''} }`;

function trimText({ loops, tolerance }: TrimRegion, own: (mm: number) => number): string {
  const loopText = ({ curves }: TrimLoop): string =>
    `[\n            ${curves.map(curveText).join(',\n            ')}\n          ]`;
  return `{
        "tolerance": ${jsonNumber(own(tolerance))},
        "loops": [
          ${loops.map(loopText).join(',\n          ')}
        ]
      }`;
}

/** The values that make a net, by their keys. */
export function netTexts(net: ControlNet, own: (mm: number) => number): Record<string, string> {
  const rows = Array.from({ length: net.rows }, (_, row) => rowText(net, row, own));
  return {
    degree: numbers(net.degree),
    knots: `[
        ${numbers(net.knots[0])},
        ${numbers(net.knots[1])}
      ]`,
    rows: `[
        ${rows.join(',\n        ')}
      ]`,
    weights: weightsText(net),
  };
}

function panelText({ name, net, trim, groups = [] }: Panel, own: (mm: number) => number): string {
  const { degree, knots, rows, weights } = netTexts(net, own);
  return `    {
      "name": ${JSON.stringify(name)},
      "degree": ${degree},
      "knots": ${knots},
      "rows": ${rows},
      "weights": ${weights}${trim.kind === 'part' ? `,\n      "trim": ${trimText(trim.region, own)}` : ''}${groups.length > 0 ? `,\n      "groups": ${list(groups.map((group) => JSON.stringify(group)))}` : ''}
    }`;
}

/**
 * Panels as a `*.net.json` file (src/intake/net.schema.json), a row of points a line, in the unit asked
 * for where the schema knows it, else in millimetres.
 */
export function netJsonFile({ panels, unit }: SurfaceFile): WrittenSurfaces {
  const written = units.has(unit.name) ? unit : millimetre;
  const own = (mm: number): number => ownNumber(mm, written.millimetres);
  const bytes = Buffer.from(`{
  "format": "hullsight-net",
  "version": 1,
  "units": ${JSON.stringify(written.name)},
  "panels": [
${panels.map((panel) => panelText(panel, own)).join(',\n')}
  ]
}
`);
  return { bytes, unit: written, remarks: new Remarks() };
}
