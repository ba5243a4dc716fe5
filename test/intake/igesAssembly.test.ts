// One assembly with everything that subfigures may do to a part, in inches, against positions worked out
// here. Sections cited are those of IGES 5.3 (ANS US PRO/IPO-100-1996).
import { describe, expect, test } from 'vitest';
import { surfacePoint } from '../../src/geometry/evaluation.ts';
import { trimTest } from '../../src/geometry/trimTest.ts';
import type { Panel } from '../../src/intake/panel.ts';
import { readIges } from '../../src/intake/iges/readIges.ts';
import { hollerith, igesFile, pointer, surface, type MadeEntity } from './igesFile.ts';
import { outermost, panelsByMotion, turn, type Motion, type Point } from './motion.ts';

const inch = 25.4;
const real = (x: number): string => x.toExponential(16);

/** Height of the sheet over x, from 0 to 100: the parabola of the control points 0, 10, 0. */
const height = (x: number): number => 0.2 * x * (1 - x / 100);

/** Sheets over 100 by 60 inches, x = 100 u and y = 60 v: one a parabolic cylinder, one askew. */
const arched = [
  [0, 0, 0],
  [50, 0, 10],
  [100, 0, 0],
  [0, 60, 0],
  [50, 60, 10],
  [100, 60, 0],
] as const;
const askew = arched.map(([x, y, z]): Point => [x, y, 0.3 * z + 0.01 * x - 0.002 * x * y + 7]);

/** Off a plane through `at`: p - 2 n (n . (p - at)), after Householder (any textbook). */
function mirror([x, y, z]: Point, at: Point): Motion {
  const size = Math.hypot(x, y, z);
  const n = [x / size, y / size, z / size];
  return (p) => {
    const away = 2 * n.reduce((sum, part, i) => sum + part * (p[i] - at[i]), 0);
    return [p[0] - away * n[0], p[1] - away * n[1], p[2] - away * n[2]];
  };
}

/** The entities of a file in the order in which they were added. */
class IgesMaker {
  readonly entities: MadeEntity[] = [];

  /** Adds an entity; gives its number, from 1. */
  add(type: number, fields: readonly (string | number)[], more: Partial<MadeEntity> = {}): number {
    return this.entities.push({ type, fields, ...more });
  }

  /** R11 R12 R13 T1 ... T3, form 0 right-handed, form 1 left-handed: 4.21. `next` is applied after it: 3.2.3. */
  matrix(motion: Motion, form: 0 | 1, next = 0): number {
    const origin = motion([0, 0, 0]);
    const columns = [motion([1, 0, 0]), motion([0, 1, 0]), motion([0, 0, 1])];
    const row = (i: 0 | 1 | 2): number[] => [
      ...columns.map((column) => column[i] - origin[i]),
      origin[i],
    ];
    const fields = [...row(0), ...row(1), ...row(2)].map(real);
    return this.add(124, fields, { form, matrix: next });
  }

  /** DEPTH, NAME, N, DE: subfigure definition (308). */
  definition(depth: number, name: string, members: readonly number[]): number {
    const fields = [depth, hollerith(name), members.length, ...members.map(pointer)];
    return this.add(308, fields, { status: '00000200' });
  }
}

const [dependent, free] = ['00010000', '00000000'];

interface Moving {
  readonly entity: number;
  readonly motion: Motion;
}

/** What a subfigure instance (408) does, as a part of a definition or by itself. */
interface MadeInstance {
  readonly scale: number;
  readonly matrix?: Moving;
  readonly shift: Point;
  readonly isPart?: boolean;
}

/**
 * DE, X, Y, Z, S: the definition is first scaled, then put where the instance's own matrix says, then
 * shifted (2.2.4.4.9.2, steps 4 to 6).
 */
function instance(
  maker: IgesMaker,
  definition: number,
  { scale, matrix, shift, isPart }: MadeInstance,
): Moving {
  const entity = maker.add(408, [pointer(definition), ...shift.map(real), real(scale)], {
    matrix: matrix?.entity ?? 0,
    status: isPart ? dependent : free,
  });
  const turned: Motion = matrix?.motion ?? ((p) => p);
  return {
    entity,
    motion: (p) => {
      const [x, y, z] = turned([scale * p[0], scale * p[1], scale * p[2]]);
      return [x + shift[0], y + shift[1], z + shift[2]];
    },
  };
}

/** Corners of the box over which the hole lies. */
const [[x0, y0], [x1, y1]] = [
  [30, 20],
  [55, 35],
];

/**
 * The border of a hole in space, in the frame of the sheet: two lines (110) along y and two parabolas
 * (126, 4.23) along x, as one composite curve (102, 4.4) that `matrix` moves.
 */
function hole(maker: IgesMaker, matrix: number): number {
  const status = dependent;
  const straight = (x: number, from: number, to: number): number =>
    maker.add(110, [x, from, height(x), x, to, height(x)].map(real), { status });
  const parabola = (from: number, to: number, y: number): number => {
    // The tangents at the ends meet over the middle; the slope of the height is 0.2 - 0.004 x.
    const middle = height(from) + (0.2 - 0.004 * from) * ((to - from) / 2);
    const points = [from, y, height(from), (from + to) / 2, y, middle, to, y, height(to)];
    const numbers = [0, 0, 0, 1, 1, 1, 1, 1, 1, ...points, 0, 1, 0, 1, 0].map(real);
    return maker.add(126, [2, 2, 1, 0, 1, 0, ...numbers], { status });
  };
  const legs = [
    parabola(x0, x1, y0),
    straight(x1, y0, y1),
    parabola(x1, x0, y1),
    straight(x0, y1, y0),
  ];
  return maker.add(102, [legs.length, ...legs.map(pointer)], { status, matrix });
}

/** Of the arched sheet a disc of radius 0.4 in its parameters is kept, without the box. */
const isKept = ([u, v]: readonly [number, number]): boolean =>
  Math.hypot(u - 0.5, v - 0.5) < 0.4 &&
  !(100 * u > x0 && 100 * u < x1 && 60 * v > y0 && 60 * v < y1);

interface Assembly {
  readonly bytes: Uint8Array;
  /** Where the sheets of the part stand, from their own frames to the model. */
  readonly arched: readonly Motion[];
  readonly askew: readonly Motion[];
  /** Where the arched sheet stands in the frame of its face. */
  readonly inFace: Motion;
  /** How large each instance of the part is, in the order of the motions. */
  readonly scales: readonly number[];
}

/**
 * Two sheets as a part (308), each with a matrix of its own; the part placed twice in a fairing, once
 * mirrored and once smaller, the fairing and the part by itself in a side, side and fairing in the model.
 */
function assembly(): Assembly {
  const maker = new IgesMaker();

  // The arched sheet: its own matrix, that of its face, and the matrix after that one.
  const [inSheet, inFace, afterFace] = [
    turn([3, -1, 2], 0.4, [5, 9, -12]),
    turn([0, 2, 1], -1.1, [-20, 0, 14]),
    mirror([1, 0.2, -0.4], [60, 3, 0]),
  ];
  const sheetMatrix = maker.matrix(inSheet, 0);
  const base = maker.entities.push(
    surface({ points: arched }, { matrix: sheetMatrix, status: dependent }),
  );
  const disc = maker.add(100, [0, 0.5, 0.5, 0.9, 0.5, 0.9, 0.5].map(real), { status: dependent });
  // CRTN, SPTR, BPTR, CPTR, PREF 1 and 2, in the plane and in space: 4.32.
  const outer = maker.add(142, [0, pointer(base), pointer(disc), 0, 1], { status: dependent });
  const inner = maker.add(142, [0, pointer(base), 0, pointer(hole(maker, sheetMatrix)), 2], {
    status: dependent,
  });
  // PTS, N1, N2, PTO, PTI: 4.34.
  const face = maker.add(144, [pointer(base), 1, 1, pointer(outer), pointer(inner)], {
    matrix: maker.matrix(inFace, 0, maker.matrix(afterFace, 1)),
    status: dependent,
    label: 'ARCHED',
  });

  // The other sheet is mirrored by a matrix of its own.
  const other = mirror([0.3, -1, 0.8], [0, 15, -40]);
  const whole = maker.entities.push(
    surface(
      { points: askew },
      { matrix: maker.matrix(other, 1), status: dependent, label: 'ASKEW' },
    ),
  );

  const placed = (motion: Motion, form: 0 | 1): Moving => ({
    entity: maker.matrix(motion, form),
    motion,
  });
  const part = maker.definition(0, 'panel', [face, whole]);
  const inFairing = [
    instance(maker, part, {
      scale: 1,
      matrix: placed(turn([1, 2, 3], 0.7, [120, -40, 5]), 0),
      shift: [10, 20, 30],
      isPart: true,
    }),
    instance(maker, part, {
      scale: 0.4,
      matrix: placed(mirror([-3, 1, 0.5], [0, 250, -60]), 1),
      shift: [-300, 0, 7],
      isPart: true,
    }),
  ];
  const fairing = maker.definition(
    1,
    'fairing',
    inFairing.map(({ entity }) => entity),
  );
  const fairingInSide = instance(maker, fairing, {
    scale: 1.5,
    matrix: placed(turn([0, 1, -4], -1.3, [400, 30, 0]), 0),
    shift: [0, -90, 0],
    isPart: true,
  });
  const partInSide = instance(maker, part, { scale: 1, shift: [0, 300, -120], isPart: true });
  const side = maker.definition(2, 'side', [fairingInSide.entity, partInSide.entity]);
  const sides = [
    instance(maker, side, { scale: 1, shift: [0, 0, 0] }),
    instance(maker, side, {
      scale: 2,
      matrix: placed(mirror([0, 1, 0], [0, -250, 0]), 1),
      shift: [40, 0, 0],
    }),
  ];
  const alone = instance(maker, fairing, {
    scale: 1,
    matrix: placed(turn([2, -1, 1], 3.1, [-500, 0, 220]), 0),
    shift: [0, 0, 50],
  });

  const places = [
    ...sides.flatMap(({ motion }) => [
      ...inFairing.map((own) => outermost(motion, outermost(fairingInSide.motion, own.motion))),
      outermost(motion, partInSide.motion),
    ]),
    ...inFairing.map((own) => outermost(alone.motion, own.motion)),
  ];
  return {
    bytes: igesFile(maker.entities, { unit: '1,4HINCH' }),
    arched: places.map((place) =>
      outermost(place, outermost(afterFace, outermost(inFace, inSheet))),
    ),
    askew: places.map((place) => outermost(place, other)),
    inFace: inSheet,
    scales: [1.5, 0.6, 1, 3, 1.2, 2, 1, 0.4],
  };
}

describe('an assembly in inches: turned, nested, reused, mirrored and scaled subfigures', () => {
  const made = assembly();
  const { panels, faults, notices, unjudged, unit } = readIges(made.bytes);
  const named = (name: string): Panel[] => panels.filter((panel) => panel.name.startsWith(name));

  test('every sheet stands where it should, to 1e-9', () => {
    expect([faults, notices, unjudged, unit.name]).toEqual([[], [], [], 'in']);
    expect(panels).toHaveLength(16);
    panelsByMotion(named('ARCHED'), arched, made.arched, inch);
    panelsByMotion(named('ASKEW'), askew, made.askew, inch);
    for (const { trim } of named('ASKEW')) expect(trim.kind).toBe('whole');
  });

  test('what is cut away is cut away wherever the face stands', () => {
    const found = panelsByMotion(named('ARCHED'), arched, made.arched, inch);
    found.forEach(({ name, net, trim }, k) => {
      if (trim.kind !== 'part') throw new Error(`${name}: ${trim.kind}`);
      const standing = trimTest(net, trim.region);
      const size = Math.max(...net.points.map(Math.abs));
      const told = { inside: 0, outside: 0 };
      for (let at = 0; at < 900; at++) {
        const [u, v] = [((at % 30) + 0.37) / 30, (Math.floor(at / 30) + 0.41) / 30];
        const wanted = made.arched[k]([100 * u, 60 * v, height(100 * u)]);
        surfacePoint(net, u, v).forEach((x, axis) =>
          expect(Math.abs(x - inch * wanted[axis])).toBeLessThan(1e-9 * size),
        );
        const expected = isKept([u, v]) ? 'inside' : 'outside';
        expect([u, v, standing(u, v)]).toEqual([u, v, expected]);
        told[expected]++;
      }
      expect(Math.min(told.inside, told.outside)).toBeGreaterThan(300);
    });
  });

  test('a border is as loose as its face is large', () => {
    const inOwnFrame = arched.map(made.inFace);
    const extents = [0, 1, 2].map((axis) => {
      const values = inOwnFrame.map((p) => p[axis]);
      return Math.max(...values) - Math.min(...values);
    });
    // The house's rule: a hundred-thousandth of the size, where that is more than 0.01 mm.
    const own = 1e-5 * inch * Math.hypot(...extents);
    const found = panelsByMotion(named('ARCHED'), arched, made.arched, inch);
    found.forEach(({ trim }, k) => {
      if (trim.kind !== 'part') throw new Error(trim.kind);
      expect(trim.region.tolerance / own).toBeCloseTo(made.scales[k], 9);
    });
  });
});
