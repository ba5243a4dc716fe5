import type { CurvePoint } from './equalAlarms.ts';

export interface Curve {
  readonly name: string;
  readonly points: readonly CurvePoint[];
  /** Where the method stands with its own setting. */
  readonly own: CurvePoint | null;
}

export interface Chart {
  readonly title: string;
  readonly curves: readonly Curve[];
}

/** Colours that stay apart for most eyes (Okabe and Ito, from memory), and dashes for print. */
const pens: Readonly<Record<string, readonly [string, string]>> = {
  A: ['#999999', '2 3'],
  B: ['#56b4e9', '6 3'],
  C: ['#009e73', '2 2'],
  D: ['#0072b2', ''],
  E: ['#cc79a7', '8 3'],
  F: ['#e69f00', '5 2 1 2'],
  G: ['#d55e00', ''],
  present: ['#000000', ''],
};

const [width, height, left, top, right] = [400, 320, 50, 40, 110];
export const mostAlarms = 0.2;

/** Root scale: the few alarms that matter get the room. */
const x = (alarm: number): number => left + width * Math.sqrt(alarm / mostAlarms);
const y = (found: number): number => top + height * (1 - found);
const fixed = (value: number): string => value.toFixed(1);

function curveLines({ name, points, own }: Curve, at: number): string[] {
  const [colour, dash] = pens[name];
  const steps = points.map(({ alarm, found }) => `${fixed(x(alarm))},${fixed(y(found))}`);
  const last = points.at(-1);
  if (last) steps.push(`${fixed(x(mostAlarms))},${fixed(y(last.found))}`);
  const stroke = `stroke="${colour}" stroke-width="${name === 'present' ? 2.5 : 1.5}"${dash && ` stroke-dasharray="${dash}"`}`;
  const legend = top + 10 + 18 * at;
  return [
    `<polyline fill="none" ${stroke} points="${steps.join(' ')}"/>`,
    ...(own && own.alarm <= mostAlarms
      ? [`<circle cx="${fixed(x(own.alarm))}" cy="${fixed(y(own.found))}" r="4" fill="${colour}"/>`]
      : []),
    `<line x1="${left + width + 10}" x2="${left + width + 40}" y1="${legend}" y2="${legend}" ${stroke}/>`,
    `<text x="${left + width + 46}" y="${legend + 4}">${name}</text>`,
  ];
}

function chartLines({ title, curves }: Chart): string[] {
  const across = [0, 0.01, 0.02, 0.05, 0.1, 0.2];
  const up = [0, 0.2, 0.4, 0.6, 0.8, 1];
  return [
    `<text x="${left}" y="24" font-weight="bold">${title}</text>`,
    ...across.flatMap((alarm) => [
      `<line x1="${fixed(x(alarm))}" x2="${fixed(x(alarm))}" y1="${top}" y2="${top + height}" stroke="#dddddd"/>`,
      `<text x="${fixed(x(alarm))}" y="${top + height + 16}" text-anchor="middle">${alarm}</text>`,
    ]),
    ...up.flatMap((found) => [
      `<line x1="${left}" x2="${left + width}" y1="${fixed(y(found))}" y2="${fixed(y(found))}" stroke="#dddddd"/>`,
      `<text x="${left - 6}" y="${fixed(y(found) + 4)}" text-anchor="end">${found}</text>`,
    ]),
    `<text x="${left + width / 2}" y="${top + height + 36}" text-anchor="middle">false alarms, share of clean panels (root scale)</text>`,
    `<text x="14" y="${top + height / 2}" text-anchor="middle" transform="rotate(-90 14 ${top + height / 2})">found and rightly named</text>`,
    ...curves.flatMap(curveLines),
  ];
}

/** Detection curves side by side as an SVG file. */
export function curvesPicture(charts: readonly Chart[]): string {
  const step = left + width + right;
  const size = [step * charts.length, top + height + 50];
  return [
    `<svg xmlns="http://www.w3.org/2000/svg" width="${size[0]}" height="${size[1]}" viewBox="0 0 ${size[0]} ${size[1]}" font-family="sans-serif" font-size="12">`,
    `<rect width="${size[0]}" height="${size[1]}" fill="#ffffff"/>`,
    ...charts.flatMap((chart, k) => [
      `<g transform="translate(${k * step} 0)">`,
      ...chartLines(chart),
      '</g>',
    ]),
    '</svg>',
    '',
  ].join('\n');
}
