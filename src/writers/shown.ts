import type { Site, Unit } from '../rules/rule.ts';

const decimals: Readonly<Record<Unit, number>> = { mm: 2, deg: 2, ratio: 2, count: 0, nats: 1 };

/** What is below this in any unit is rounding, and is shown as 0. */
const invisible = 1e-9;

/** A number as a person reads it: fixed decimals by unit, more where the value would be lost. */
export function shownNumber(value: number, unit: Unit): string {
  if (unit === 'count') return String(Math.round(value));
  const least = 0.5 * 10 ** -decimals[unit];
  if (Math.abs(value) > invisible && Math.abs(value) < least) return trimmed(value.toPrecision(2));
  const text = Math.abs(value) >= 1000 ? value.toFixed(0) : value.toFixed(decimals[unit]);
  return /^-0(\.0*)?$/.test(text) ? text.slice(1) : text;
}

const trimmed = (text: string): string => String(Number(text));

const suffix: Readonly<Record<Unit, string>> = {
  mm: ' mm',
  deg: ' deg',
  ratio: '',
  count: '',
  nats: ' nats',
};

export const shownQuantity = (value: number, unit: Unit): string =>
  `${shownNumber(value, unit)}${suffix[unit]}`;

/** A limit as its file states it, without zeros added. */
export const shownLimit = (value: number, unit: Unit): string =>
  `${Math.abs(value) < 1e-3 || value >= 1e6 ? value : Number(value.toPrecision(6))}${suffix[unit]}`;

/** A text from a file with everything a terminal might act on made visible as "?". */
export const printable = (text: string): string =>
  // oxlint-disable-next-line no-control-regex
  text.replace(/[\u0000-\u001f\u007f-\u009f\u200b-\u200f\u202a-\u202e\u2066-\u2069]/g, '?');

const spotText = (row: number, column: number): string => `row ${row + 1}, column ${column + 1}`;

const stretchText = (
  { from, to }: { readonly from?: number; readonly to?: number },
  noun: string,
): string => (from === undefined || to === undefined ? '' : `, ${noun} ${from + 1} to ${to + 1}`);

/** Planes by their place on their axis, lines of constant parameter by that parameter. */
const sectionText = ({ axis, at }: Extract<Site, { readonly kind: 'section' }>): string =>
  axis === 'row' || axis === 'column'
    ? `the line along its ${axis}s at ${axis === 'row' ? 'v' : 'u'} = ${shownNumber(at, 'ratio')}`
    : `the section ${axis} = ${shownNumber(at, 'mm')} mm`;

/** An area as a person reads it: in square centimetres. */
const shownArea = (area: number): string =>
  area < 100 ? 'under 1 cm2' : `${(area / 100).toFixed(area < 1000 ? 1 : 0)} cm2`;

/** A site in words; rows and columns count from 1 where a person reads. */
export function shownSite(site: Site): string {
  switch (site.kind) {
    case 'point':
      return spotText(site.row, site.column);
    case 'points':
      return site.points.map(({ row, column }) => spotText(row, column)).join(' or ');
    case 'leg':
      return `from ${spotText(site.row, site.column)} along its ${site.along}`;
    case 'row':
      return `row ${site.row + 1}${stretchText(site, 'columns')}`;
    case 'column':
      return `column ${site.column + 1}${stretchText(site, 'rows')}`;
    case 'net':
      return 'the whole net';
    case 'section':
      return sectionText(site);
    case 'seam':
      return `the seam with ${printable(site.with)}, from ${shownNumber(site.from, 'mm')} to ${shownNumber(site.to, 'mm')} mm along it`;
    case 'region':
      return `${shownArea(site.area)} around ${spotText(site.points[0].row, site.points[0].column)}`;
  }
}

/** Plural by adding s: "1 panel", "2 panels". */
export const counted = (count: number, noun: string): string =>
  `${count} ${noun}${count === 1 ? '' : 's'}`;
