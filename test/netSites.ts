import type { ControlNet } from '../src/geometry/controlNet.ts';
import type { Site } from '../src/rules/rule.ts';

/** First and last point of a run, where the site is one. */
const stretchOf = ({ from, to }: { readonly from?: number; readonly to?: number }) =>
  from === undefined || to === undefined ? {} : { from, to };

/** What becomes of a site when rows and columns change places. */
export function transposedSite(site: Site): Site {
  switch (site.kind) {
    case 'row':
      return { ...stretchOf(site), kind: 'column', column: site.row };
    case 'column':
      return { ...stretchOf(site), kind: 'row', row: site.column };
    case 'point':
      return { kind: 'point', row: site.column, column: site.row };
    case 'points':
    case 'region':
      return {
        ...site,
        points: site.points.map(({ row, column }) => ({ row: column, column: row })),
      };
    case 'leg':
      return {
        kind: 'leg',
        row: site.column,
        column: site.row,
        along: site.along === 'row' ? 'column' : 'row',
      };
    case 'net':
    case 'seam':
      return site;
    case 'section':
      return site.axis === 'row' || site.axis === 'column'
        ? { ...site, axis: site.axis === 'row' ? 'column' : 'row' }
        : site;
  }
}

/** What becomes of a site when the rows run backwards. */
export function reversedSite(site: Site, { columns, knots }: ControlNet): Site {
  const turned = (column: number): number => columns - 1 - column;
  switch (site.kind) {
    case 'point':
    case 'column':
      return { ...site, column: turned(site.column) };
    case 'points':
    case 'region':
      return {
        ...site,
        points: site.points.map(({ row, column }) => ({ row, column: turned(column) })),
      };
    case 'leg':
      // A leg is named after the point it starts at.
      return { ...site, column: turned(site.column) - (site.along === 'row' ? 1 : 0) };
    case 'row':
      return site.from === undefined || site.to === undefined
        ? site
        : { ...site, from: turned(site.to), to: turned(site.from) };
    case 'net':
    case 'seam':
      return site;
    case 'section': {
      const [from, to] = [knots[0][0], knots[0][knots[0].length - 1]];
      return site.axis === 'column' ? { ...site, at: from + (to - site.at) } : site;
    }
  }
}
