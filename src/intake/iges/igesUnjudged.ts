import type { Unjudged } from '../panel.ts';
import type { Directory, Entity } from './igesDirectory.ts';

/** The surfaces that are read: rational B-splines and piecewise polynomials (IGES 5.3, 4.24 and 4.15). */
export const rationalSurface = 128;
export const powerSurface = 114;

/** Surfaces without a control net, by IGES 5.3, table 3. */
const surfaceLabels: Readonly<Record<number, string>> = {
  108: 'plane',
  118: 'ruled surface',
  120: 'surface of revolution',
  122: 'tabulated cylinder',
  140: 'offset surface',
  190: 'plane surface',
  192: 'right circular cylindrical surface',
  194: 'right circular conical surface',
  196: 'spherical surface',
  198: 'toroidal surface',
};

/** Solids that have surfaces without listing them, and copies of things that are not followed. */
const otherLabels: Readonly<Record<number, string>> = {
  150: 'block',
  152: 'right angular wedge',
  154: 'right circular cylinder',
  156: 'right circular cone frustum',
  158: 'sphere',
  160: 'torus',
  162: 'solid of revolution',
  164: 'solid of linear extrusion',
  168: 'ellipsoid',
  184: 'solid assembly',
  412: 'rectangular array subfigure instance',
  414: 'circular array subfigure instance',
};

export const isSurface = ({ type }: Entity): boolean =>
  type === rationalSurface || type === powerSurface || Object.hasOwn(surfaceLabels, type);

/**
 * Everything of the file that has surfaces no rule can judge: each entity once, by type. A plane
 * (108) counts where it is bounded (forms 1 and -1) or the base of a face; as a bare plane it is a
 * means of construction or the clipping plane of a view (IGES 5.3, 4.12).
 */
export function igesUnjudged(directory: Directory, bases: ReadonlySet<Entity>): Unjudged[] {
  const labels: Readonly<Record<number, string>> = { ...surfaceLabels, ...otherLabels };
  const byType = new Map<number, Entity[]>();
  for (const entity of directory.entities) {
    if (!Object.hasOwn(labels, entity.type)) continue;
    if (entity.type === 108 && entity.form === 0 && !bases.has(entity)) continue;
    const known = byType.get(entity.type);
    if (known) known.push(entity);
    else byType.set(entity.type, [entity]);
  }
  return [...byType]
    .sort(([a], [b]) => a - b)
    .map(([type, entities]) => ({
      kind: `IGES ${type}`,
      label: labels[type],
      count: entities.length,
      places: entities.map(directory.placeOf),
    }));
}
