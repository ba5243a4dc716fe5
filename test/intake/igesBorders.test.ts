import { describe, expect, test } from 'vitest';
import { curveDomain, curvePoint } from '../../src/geometry/splineCurve.ts';
import type { BorderPiece } from '../../src/geometry/trimRegion.ts';
import {
  igesBorders,
  rectangle,
  type ToldBorders,
  type Way,
} from '../../src/intake/iges/igesBorders.ts';
import { curveSource, isTrouble, type BorderTrouble } from '../../src/intake/iges/igesCurves.ts';
import { igesDirectory } from '../../src/intake/iges/igesDirectory.ts';
import { igesGlobals } from '../../src/intake/iges/igesGlobals.ts';
import { parameterSource } from '../../src/intake/iges/igesParameters.ts';
import { igesSections } from '../../src/intake/iges/igesSections.ts';
import { igesStructure } from '../../src/intake/iges/igesStructure.ts';
import { igesFile, pointer, surface, type MadeEntity } from './igesFile.ts';

// Sections cited are those of IGES 5.3 (ANS US PRO/IPO-100-1996). Entity 1 is the surface, the last one
// the face; the file is in inches.

function borders(entities: readonly MadeEntity[], way: Way): ToldBorders | BorderTrouble {
  const sections = igesSections(igesFile(entities, { unit: '1,4HINCH' }));
  const { delimiters } = igesGlobals(sections);
  const directory = igesDirectory(sections);
  const source = parameterSource(sections, directory, delimiters);
  const structure = igesStructure(directory, source);
  const base = directory.entities[0];
  const [face] = structure.parentsOf(base);
  const domain = rectangle([
    [0, 1],
    [0, 1],
  ]);
  return igesBorders(face.entity, face.fields, base, domain, way, {
    directory,
    structure,
    curves: curveSource(directory, source, structure),
    scale: 25.4,
  });
}

/** The ends of each piece, on the side it is told on. */
const ends = ({ plane, space }: BorderPiece): number[][] => {
  const curve = (plane ?? space)!;
  return curveDomain(curve).map((t) => curvePoint(curve, t).map((x) => Math.round(x * 1e6) / 1e6));
};
function told(entities: readonly MadeEntity[], way: Way = 'preferred'): [string, number[][][]][] {
  const found = borders(entities, way);
  if (isTrouble(found)) throw new Error(`${found.what} in ${found.entity}`);
  return found.map(({ side, border }) => [side, border.map(ends)]);
}

const real = (x: number): string => (Number.isInteger(x) ? `${x}.` : String(x));
const line = (from: number[], to: number[], more: Partial<MadeEntity> = {}): MadeEntity => ({
  type: 110,
  fields: [...from, ...to].map(real),
  ...more,
});
const inPlane = line([0, 0, 9], [1, 0.5, 9]);
const inSpace = line([0, 0, 0], [10, 2, 3]);
const planeEnds = [
  [0, 0],
  [1, 0.5],
];
const spaceEnds = [
  [0, 0, 0],
  [254, 50.8, 76.2],
];
const onSurface = (plane: number, space: number, preferred: number, base = 1): MadeEntity => ({
  type: 142,
  fields: [0, base && pointer(base), plane && pointer(plane), space && pointer(space), preferred],
});
const face144: MadeEntity = { type: 144, fields: [pointer(1), 1, 0, pointer(4)] };
const on144 = (curve: MadeEntity): MadeEntity[] => [surface(), inPlane, inSpace, curve, face144];

describe('curve on a parametric surface: 4.32', () => {
  test.each<[string, MadeEntity, string, string]>([
    ['PREF 0: not said', onSurface(2, 3, 0), 'plane', 'space'],
    ['PREF 1: the plane', onSurface(2, 3, 1), 'plane', 'space'],
    ['PREF 2: space', onSurface(2, 3, 2), 'space', 'plane'],
    ['PREF 3: either', onSurface(2, 3, 3), 'plane', 'space'],
    ['no curve in space', onSurface(2, 0, 2), 'plane', 'plane'],
    ['no curve in the plane', onSurface(0, 3, 1), 'space', 'space'],
    ['a curve in the plane that is not there', onSurface(77, 3, 1), 'space', 'space'],
    ['a curve in space that is not read', onSurface(2, 1, 2), 'plane', 'plane'],
    [
      'of another surface: its parameters are not this one’s',
      onSurface(2, 3, 1, 5),
      'space',
      'space',
    ],
    ['of no surface in particular', onSurface(2, 3, 1, 0), 'plane', 'space'],
  ])('%s', (_, curve, preferred, other) => {
    const expected = (side: string): unknown => [
      [side, [side === 'plane' ? planeEnds : spaceEnds]],
    ];
    expect(told(on144(curve), 'preferred')).toEqual(expected(preferred));
    expect(told(on144(curve), 'other')).toEqual(expected(other));
  });

  test('a curve in space stands where its own matrix and that of the 142 put it', () => {
    const shift = (x: number, y: number): MadeEntity => ({
      type: 124,
      fields: [1, 0, 0, x, 0, 1, 0, y, 0, 0, 1, 0].map(real),
    });
    const entities = [
      surface(),
      inPlane,
      line([0, 0, 0], [1, 0, 0], { matrix: 6 }),
      { ...onSurface(2, 3, 2), matrix: 7 },
      // the face's own matrix moves surface and curve alike, and is left to whoever places the net
      { ...face144, matrix: 6 },
      shift(10, 0),
      shift(0, 5),
    ];
    expect(told(entities)).toEqual([
      [
        'space',
        [
          [
            [254, 127, 0],
            [279.4, 127, 0],
          ],
        ],
      ],
    ]);
  });
});

describe('boundary: 4.31', () => {
  const bounded = (boundary: (string | number)[]): MadeEntity[] => [
    surface(),
    inPlane,
    inSpace,
    { type: 141, fields: boundary },
    { type: 143, fields: [1, pointer(1), 1, pointer(4)] },
  ];
  const edge = (sense: number, ...planes: number[]): number[] => [
    pointer(3),
    sense,
    planes.length,
    ...planes.map(pointer),
  ];
  const back = [...spaceEnds].reverse();
  test.each<[string, (string | number)[], Way, unknown]>([
    ['TYPE 0: space only', [0, 0, pointer(1), 1, ...edge(1)], 'preferred', ['space', [spaceEnds]]],
    ['SENSE 2: backwards', [0, 0, pointer(1), 1, ...edge(2)], 'preferred', ['space', [back]]],
    [
      'TYPE 0: curves in the plane are none of it',
      [0, 1, pointer(1), 1, ...edge(1, 2)],
      'preferred',
      ['space', [spaceEnds]],
    ],
    [
      'TYPE 1: the plane, two curves for one',
      [1, 1, pointer(1), 1, ...edge(2, 2, 2)],
      'preferred',
      ['plane', [planeEnds, planeEnds]],
    ],
    ['and space else', [1, 1, pointer(1), 1, ...edge(2, 2, 2)], 'other', ['space', [back]]],
    ['PREF 2: space', [1, 2, pointer(1), 1, ...edge(1, 2)], 'preferred', ['space', [spaceEnds]]],
    [
      'an edge without a curve in the plane is told in space',
      [1, 1, pointer(1), 2, ...edge(1, 2), ...edge(2)],
      'preferred',
      ['plane', [planeEnds, back]],
    ],
    [
      'of another surface',
      [1, 1, pointer(5), 1, ...edge(1, 2)],
      'preferred',
      ['space', [spaceEnds]],
    ],
    [
      'the last K left to its default',
      [0, 0, pointer(1), 1, pointer(3), 1],
      'preferred',
      ['space', [spaceEnds]],
    ],
  ])('%s', (_, boundary, way, expected) =>
    expect(told(bounded(boundary), way)).toEqual([expected]),
  );
});

describe('loop of a face: 508 over 504', () => {
  const looped = (loop: (string | number)[], list: Partial<MadeEntity> = {}): MadeEntity[] => [
    surface(),
    inPlane,
    inSpace,
    { type: 504, form: 1, fields: [2, pointer(2), 1, 1, 1, 1, pointer(3), 1, 1, 1, 1], ...list },
    { type: 508, form: 1, fields: loop },
    { type: 510, form: 1, fields: [pointer(1), 1, 1, pointer(5)] },
  ];
  const back = [...spaceEnds].reverse();
  const atVertex = [1, pointer(4), 1, 1, 0];
  test.each<[string, (string | number)[], Way, unknown]>([
    ['edge 2 of its list', [1, 0, pointer(4), 2, 1, 0], 'preferred', ['space', [spaceEnds]]],
    ['OF 0: backwards', [1, 0, pointer(4), 2, 0, 0], 'preferred', ['space', [back]]],
    [
      'by its curve in the plane, as that stands',
      [1, 0, pointer(4), 2, 0, 1, 0, pointer(2)],
      'preferred',
      ['plane', [planeEnds]],
    ],
    ['or in space', [1, 0, pointer(4), 2, 0, 1, 0, pointer(2)], 'other', ['space', [back]]],
    [
      'a curve in the plane that is not there',
      [1, 0, pointer(4), 2, 1, 1, 0, 99],
      'preferred',
      ['plane', [spaceEnds]],
    ],
    [
      'at a vertex the border stands still',
      [2, ...atVertex, 0, pointer(4), 2, 1, 0],
      'preferred',
      ['space', [spaceEnds]],
    ],
    [
      'or runs in the plane alone',
      [2, 1, pointer(4), 1, 1, 1, 0, pointer(2), 0, pointer(4), 2, 1, 0],
      'preferred',
      ['plane', [planeEnds, spaceEnds]],
    ],
    [
      'which is nothing in space',
      [2, 1, pointer(4), 1, 1, 1, 0, pointer(2), 0, pointer(4), 2, 1, 0],
      'other',
      ['space', [spaceEnds]],
    ],
  ])('%s', (_, loop, way, expected) => expect(told(looped(loop), way)).toEqual([expected]));

  test('its list may have a matrix', () => {
    const entities = [
      ...looped([1, 0, pointer(4), 2, 1, 0], { matrix: 7 }),
      { type: 124, fields: [1, 0, 0, 1, 0, 1, 0, 0, 0, 0, 1, 0].map(real) },
    ];
    expect(told(entities)).toEqual([
      [
        'space',
        [
          [
            [25.4, 0, 0],
            [279.4, 50.8, 76.2],
          ],
        ],
      ],
    ]);
  });
});

test('144: N1 = 0 is the border of the surface’s own domain: 4.34', () => {
  const entities = [
    surface(),
    inPlane,
    inSpace,
    onSurface(2, 0, 1),
    { type: 144, fields: [pointer(1), 0, 1, 0, pointer(4)] },
  ];
  expect(told(entities)).toEqual([
    [
      'plane',
      [
        [
          [0, 0],
          [0, 0],
        ],
      ],
    ],
    ['plane', [planeEnds]],
  ]);
});
