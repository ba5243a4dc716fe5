import type { ControlNet } from '../src/geometry/controlNet.ts';
import type { Site } from '../src/rules/rule.ts';

/** What becomes of a site when rows and columns change places. */
export function transposedSite(site: Site): Site {
  switch (site.kind) {
    case 'row':
      return { kind: 'column', column: site.row };
    case 'column':
      return { kind: 'row', row: site.column };
    case 'point':
      return { kind: 'point', row: site.column, column: site.row };
    case 'points':
      return {
        kind: 'points',
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
      return site;
  }
}

/** What becomes of a site when the rows run backwards. */
export function reversedSite(site: Site, { columns }: ControlNet): Site {
  const turned = (column: number): number => columns - 1 - column;
  switch (site.kind) {
    case 'point':
    case 'column':
      return { ...site, column: turned(site.column) };
    case 'points':
      return {
        kind: 'points',
        points: site.points.map(({ row, column }) => ({ row, column: turned(column) })),
      };
    case 'leg':
      // A leg is named after the point it starts at.
      return { ...site, column: turned(site.column) - (site.along === 'row' ? 1 : 0) };
    case 'row':
    case 'net':
      return site;
  }
}
