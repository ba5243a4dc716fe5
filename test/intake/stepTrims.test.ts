import { describe, expect, test } from 'vitest';
import { surfacePoint } from '../../src/geometry/evaluation.ts';
import { domain } from '../../src/geometry/knots.ts';
import { trimTest } from '../../src/geometry/trimTest.ts';
import type { Intake, Panel } from '../../src/intake/panel.ts';
import { readStep } from '../../src/intake/step/readStep.ts';
import { sheet, StepFacesMaker, type At } from './stepFaces.ts';

type Kept = (x: number, y: number) => boolean;

/** Places of the grid on which a panel's trim is asked. */
const gridColumns = 61;
const gridRows = 41;

/**
 * Asks the trim of a panel on a grid over its domain; gives the places, in the surface's own plane, at
 * which it differs from what is wanted, and the share it calls border.
 */
function misjudged(panel: Panel, kept: Kept): { wrong: number[][]; border: number } {
  const { net, trim } = panel;
  const side = trim.kind === 'part' ? trimTest(net, trim.region) : (): 'inside' => 'inside';
  const [[u0, u1], [v0, v1]] = [0, 1].map((k) => domain(net.knots[k], net.degree[k]));
  const wrong: number[][] = [];
  let border = 0;
  for (let j = 0; j < gridRows; j++)
    for (let i = 0; i < gridColumns; i++) {
      // off the grid lines that a border may follow
      const u = u0 + (u1 - u0) * ((i + 0.37) / gridColumns);
      const v = v0 + (v1 - v0) * ((j + 0.41) / gridRows);
      const found = side(u, v);
      const [x, y] = surfacePoint(net, u, v);
      if (found === 'border') border++;
      else if ((found === 'inside') !== kept(x, y)) wrong.push([x, y]);
    }
  return { wrong, border: border / (gridColumns * gridRows) };
}

const expectKept = (panel: Panel, kept: Kept): void => {
  const { wrong, border } = misjudged(panel, kept);
  expect(wrong).toEqual([]);
  expect(border).toBeLessThan(0.02);
};

type Made = (maker: StepFacesMaker, surface: string) => string;

/** A file with one thing on the flat sheet. */
function read(make: Made, context?: (maker: StepFacesMaker) => string): Intake {
  const maker = new StepFacesMaker();
  const record = make(maker, maker.surface(sheet));
  maker.representation([record], context ? context(maker) : maker.context());
  return readStep(maker.file());
}

/** A face bounded by one loop of edges. */
const loop =
  (edges: (maker: StepFacesMaker, surface: string) => string[]): Made =>
  (maker, surface) =>
    maker.boundedFace(surface, [maker.edgeLoop(edges(maker, surface))]);

const disc =
  ([x0, y0]: At, radius: number): Kept =>
  (x, y) =>
    Math.hypot(x - x0, y - y0) < radius;

/** Whether a place is in a polygon: crossings of a ray, here in the test by itself. */
function within(corners: readonly At[]): Kept {
  return (x, y) =>
    corners.filter(([x1, y1], k) => {
      const [x2, y2] = corners[(k + 1) % corners.length];
      return y1 > y !== y2 > y && x < x1 + ((x2 - x1) * (y - y1)) / (y2 - y1);
    }).length %
      2 ===
    1;
}

const many = (from: number, to: number, at: (t: number) => At): At[] =>
  Array.from({ length: 2001 }, (_, k) => at(from + ((to - from) * k) / 2000));

const hull: readonly At[] = [
  [10, 10],
  [20, 55],
  [70, 50],
  [90, 12],
];
/** Bernstein's polynomials of degree 3 (any textbook). */
const bezierAt = (t: number): At => {
  const shares = [(1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t ** 3];
  return [0, 1].map((axis) =>
    shares.reduce((total, share, k) => total + share * hull[k][axis], 0),
  ) as unknown as At;
};
/** The uniform cubic B-spline over one span (any textbook). */
const uniformAt = (t: number): At => {
  const shares = [
    (1 - t) ** 3 / 6,
    (3 * t ** 3 - 6 * t * t + 4) / 6,
    (-3 * t ** 3 + 3 * t * t + 3 * t + 1) / 6,
    t ** 3 / 6,
  ];
  return [0, 1].map((axis) =>
    shares.reduce((total, share, k) => total + share * hull[k][axis], 0),
  ) as unknown as At;
};

/** Where a circle about (50, 30) of radius 20 is at an angle in degrees. */
const round = (degrees: number): At => [
  50 + 20 * Math.cos((degrees * Math.PI) / 180),
  30 + 20 * Math.sin((degrees * Math.PI) / 180),
];

/** Half of the disc about (50, 30): above the chord. */
const upper: Kept = (x, y) => disc([50, 30], 20)(x, y) && y > 30;
const lower: Kept = (x, y) => disc([50, 30], 20)(x, y) && y < 30;
const circle = (maker: StepFacesMaker): string => maker.conic('CIRCLE', [50, 30], [20]);

/** A curve closed by its chord: from end to end of what the curve shows. */
const chorded = (curve: (maker: StepFacesMaker) => string, from: At, to: At): Made =>
  loop((maker) => [maker.edge(curve(maker), from, to), maker.leg(to, from)]);

describe('edges on curves in space: ISO 10303-42, edge_curve and the subtypes of curve', () => {
  test.each<[string, Made, Kept]>([
    [
      'line',
      loop((m) => m.legs([10, 10], [90, 10], [30, 50])),
      within([
        [10, 10],
        [90, 10],
        [30, 50],
      ]),
    ],
    [
      'circle, whole: both vertices are one',
      loop((m) => [m.edge(circle(m), round(77), round(77))]),
      disc([50, 30], 20),
    ],
    [
      'circle from 0 to 180 degrees',
      loop((m) => [m.edge(circle(m), round(0), round(180)), m.leg(round(180), round(0))]),
      upper,
    ],
    [
      'circle from 180 on over 0 degrees',
      loop((m) => [m.edge(circle(m), round(180), round(0)), m.leg(round(0), round(180))]),
      lower,
    ],
    [
      'circle from 0 to 180 degrees against its sense',
      loop((m) => [
        m.edge(circle(m), round(0), round(180), { sense: false }),
        m.leg(round(180), round(0)),
      ]),
      lower,
    ],
    [
      'circle used backwards by the loop',
      loop((m) => [
        m.edge(circle(m), round(0), round(180), { forward: false }),
        m.leg(round(0), round(180)),
      ]),
      upper,
    ],
    [
      'ellipse with turned axes',
      loop((m) => [
        m.edge(m.conic('ELLIPSE', [50, 30], [25, 10], Math.PI / 2), [60, 30], [40, 30]),
        m.leg([40, 30], [60, 30]),
      ]),
      (x, y) => ((x - 50) / 10) ** 2 + ((y - 30) / 25) ** 2 < 1 && y > 30,
    ],
    [
      'parabola: x = 10 + (y - 30)^2 / 20',
      chorded((m) => m.conic('PARABOLA', [10, 30], [5]), [30, 10], [30, 50]),
      (x, y) => x > 10 + (y - 30) ** 2 / 20 && x < 30,
    ],
    [
      'hyperbola: ((x - 20) / 10)^2 - ((y - 30) / 8)^2 = 1',
      chorded(
        (m) => m.conic('HYPERBOLA', [20, 30], [10, 8]),
        [20 + 10 * Math.hypot(1, 3), 6],
        [20 + 10 * Math.hypot(1, 3), 54],
      ),
      (x, y) => x > 20 + 10 * Math.hypot(1, (y - 30) / 8) && x < 20 + 10 * Math.hypot(1, 3),
    ],
    [
      'Bezier curve',
      chorded((m) => m.spline('BEZIER_CURVE', 3, hull), hull[0], hull[3]),
      within(many(0, 1, bezierAt)),
    ],
    [
      'quasi-uniform curve',
      chorded((m) => m.spline('QUASI_UNIFORM_CURVE', 3, hull), hull[0], hull[3]),
      within(many(0, 1, bezierAt)),
    ],
    [
      'uniform curve',
      chorded((m) => m.spline('UNIFORM_CURVE', 3, hull), uniformAt(0), uniformAt(1)),
      within(many(0, 1, uniformAt)),
    ],
    [
      'B-spline curve with knots',
      chorded(
        (m) => m.spline('B_SPLINE_CURVE_WITH_KNOTS', 3, hull, '(4,4),(2.,7.)'),
        hull[0],
        hull[3],
      ),
      within(many(0, 1, bezierAt)),
    ],
    [
      'B-spline curve that goes on beyond both vertices',
      chorded((m) => m.spline('BEZIER_CURVE', 3, hull), bezierAt(0.2), bezierAt(0.7)),
      within(many(0.2, 0.7, bezierAt)),
    ],
    [
      'B-spline curve with the wrong same_sense: its vertices tell',
      loop((m) => [
        m.edge(m.spline('BEZIER_CURVE', 3, hull), bezierAt(0.2), bezierAt(0.7), { sense: false }),
        m.leg(bezierAt(0.7), bezierAt(0.2)),
      ]),
      within(many(0.2, 0.7, bezierAt)),
    ],
    [
      // A quarter circle with the weights 1, cos 45, 1 (any textbook).
      'rational curve, a complex instance',
      chorded(
        (m) =>
          m.add(
            `( BOUNDED_CURVE() B_SPLINE_CURVE(2,${m.spots([
              [70, 30],
              [70, 50],
              [50, 50],
            ])},.UNSPECIFIED.,.F.,.F.) B_SPLINE_CURVE_WITH_KNOTS((3,3),(0.,1.),.UNSPECIFIED.) ` +
              `CURVE() GEOMETRIC_REPRESENTATION_ITEM() RATIONAL_B_SPLINE_CURVE((1.,${Math.SQRT1_2},1.)) ` +
              `REPRESENTATION_ITEM('') )`,
          ),
        [70, 30],
        [50, 50],
      ),
      (x, y) => disc([50, 30], 20)(x, y) && x - 50 + y - 30 > 20,
    ],
    [
      'rational Bezier curve, a complex instance',
      chorded(
        (m) =>
          m.add(
            `( BEZIER_CURVE() BOUNDED_CURVE() B_SPLINE_CURVE(2,${m.spots([
              [70, 30],
              [70, 50],
              [50, 50],
            ])},.UNSPECIFIED.,.F.,.F.) CURVE() GEOMETRIC_REPRESENTATION_ITEM() ` +
              `RATIONAL_B_SPLINE_CURVE((1.,${Math.SQRT1_2},1.)) REPRESENTATION_ITEM('') )`,
          ),
        [70, 30],
        [50, 50],
      ),
      (x, y) => disc([50, 30], 20)(x, y) && x - 50 + y - 30 > 20,
    ],
    [
      'closed B-spline curve from a vertex in the middle of it',
      loop((m) => [
        m.edge(
          m.spline(
            'B_SPLINE_CURVE_WITH_KNOTS',
            1,
            [
              [20, 10],
              [80, 10],
              [50, 50],
              [20, 10],
            ],
            '(2,1,1,2),(0.,1.,2.,3.)',
          ),
          [80, 10],
          [80, 10],
        ),
      ]),
      within([
        [20, 10],
        [80, 10],
        [50, 50],
      ]),
    ],
    [
      'closed B-spline curve cut over its own ends',
      loop((m) => [
        m.edge(
          m.spline(
            'B_SPLINE_CURVE_WITH_KNOTS',
            1,
            [
              [20, 10],
              [80, 10],
              [50, 50],
              [20, 10],
            ],
            '(2,1,1,2),(0.,1.,2.,3.)',
          ),
          [50, 50],
          [80, 10],
        ),
        m.leg([80, 10], [50, 50]),
      ]),
      within([
        [20, 10],
        [80, 10],
        [50, 50],
      ]),
    ],
    [
      'polyline',
      chorded((m) => m.add(`POLYLINE('',${m.spots(hull)})`), hull[0], hull[3]),
      within(hull),
    ],
    [
      'trimmed curve by points, against the sense of the circle',
      chorded(
        (m) => {
          const ends = [round(180), round(0)].map((at) => m.point(...at, 0));
          return m.add(`TRIMMED_CURVE('',${circle(m)},(${ends[0]}),(${ends[1]}),.F.,.CARTESIAN.)`);
        },
        round(180),
        round(0),
      ),
      upper,
    ],
    [
      'trimmed line by parameters in multiples of its vector',
      loop((m) => {
        const line = m.line([10, 10], [1, 0], 4);
        const part = m.add(
          `TRIMMED_CURVE('',${line},(PARAMETER_VALUE(0.)),(PARAMETER_VALUE(20.)),.T.,.PARAMETER.)`,
        );
        return [
          m.edge(part, [10, 10], [90, 10]),
          m.leg([90, 10], [30, 50]),
          m.leg([30, 50], [10, 10]),
        ];
      }),
      within([
        [10, 10],
        [90, 10],
        [30, 50],
      ]),
    ],
    [
      'composite curve: two arcs and a line run backwards',
      loop((m) => {
        const arc = (from: number, to: number): string => {
          const ends = [from, to].map((angle) => m.point(...round(angle), 0));
          return m.add(`TRIMMED_CURVE('',${circle(m)},(${ends[0]}),(${ends[1]}),.T.,.CARTESIAN.)`);
        };
        const chord = m.add(`POLYLINE('',${m.spots([round(0), round(180)])})`);
        const whole = m.composite([
          [arc(0, 70), true],
          [arc(70, 180), true],
          [chord, false],
        ]);
        return [m.edge(whole, round(0), round(0))];
      }),
      upper,
    ],
    [
      'poly_loop',
      (m, surface) => m.boundedFace(surface, [m.add(`POLY_LOOP('',${m.spots(hull)})`)]),
      within(hull),
    ],
    [
      'a hole in a part, the outer bound said last',
      (m, surface) => {
        const inner = m.edgeLoop([m.edge(circle(m), round(0), round(0))]);
        const outer = m.edgeLoop(m.legs([10, 5], [90, 5], [90, 55], [10, 55]));
        return m.boundedFace(surface, [inner, outer]);
      },
      (x, y) => x > 10 && x < 90 && y > 5 && y < 55 && !disc([50, 30], 20)(x, y),
    ],
    [
      'orientation flags that are wrong',
      loop((m) => [
        m.leg([10, 10], [90, 10], { forward: false }),
        m.leg([90, 10], [30, 50], { sense: false }),
        m.leg([30, 50], [10, 10]),
      ]),
      within([
        [10, 10],
        [90, 10],
        [30, 50],
      ]),
    ],
    [
      'vertices off the curve by less than the uncertainty',
      loop((m) => [
        m.edge(m.line([10, 10], [1, 0]), [10, 10.002], [90, 10.002]),
        m.leg([90, 10.002], [30, 50]),
        m.leg([30, 50], [10, 10.002]),
      ]),
      within([
        [10, 10],
        [90, 10],
        [30, 50],
      ]),
    ],
    [
      'face_surface, its attributes spread over a complex instance',
      (m, surface) => {
        const ring = m.edgeLoop([m.edge(circle(m), round(0), round(0))]);
        const bound = m.add(`FACE_BOUND('',${ring},.F.)`);
        return m.add(
          `( FACE((${bound})) FACE_SURFACE(${surface},.T.) GEOMETRIC_REPRESENTATION_ITEM() ` +
            `REPRESENTATION_ITEM('') TOPOLOGICAL_REPRESENTATION_ITEM() )`,
        );
      },
      disc([50, 30], 20),
    ],
    [
      'an edge that a loop names without saying its orientation',
      (m, surface) => {
        const ends = [m.vertex(round(0)), m.vertex(round(0))];
        const edge = m.add(`EDGE_CURVE('',${ends[0]},${ends[1]},${circle(m)},.T.)`);
        return m.boundedFace(surface, [m.edgeLoop([edge])]);
      },
      disc([50, 30], 20),
    ],
  ])('%s', (_, make, kept) => {
    const { panels, faults, notices } = read(make);
    expect({ faults, notices }).toEqual({ faults: [], notices: [] });
    expect(panels.map(({ trim }) => trim.kind)).toEqual(['part']);
    expectKept(panels[0], kept);
  });

  test('an arc trimmed by angles is cut in the unit of angle of its context', () => {
    const { panels, notices } = read(
      chorded(
        (m) =>
          m.add(
            `TRIMMED_CURVE('',${circle(m)},(PARAMETER_VALUE(30.)),(PARAMETER_VALUE(210.)),.T.,.PARAMETER.)`,
          ),
        round(30),
        round(210),
      ),
      (m) => m.degreeContext(0.02),
    );
    expect(notices).toEqual([]);
    const { trim } = panels[0];
    expect(trim.kind === 'part' && trim.region.tolerance).toBeCloseTo(0.02, 12);
    const [sine, cosine] = [Math.sin(Math.PI / 6), Math.cos(Math.PI / 6)];
    expectKept(
      panels[0],
      (x, y) => disc([50, 30], 20)(x, y) && (y - 30) * cosine - (x - 50) * sine > 0,
    );
  });
});

describe('edges on curves in the parameter plane: ISO 10303-42, surface_curve and pcurve', () => {
  /** A triangle in space and in the plane; `wrap` may say the same otherwise. */
  const corners: readonly At[] = [
    [10, 12],
    [90, 12],
    [30, 48],
  ];
  const inPlane = ([x, y]: At): At => [x / 100, y / 60];

  test.each<[string, (m: StepFacesMaker, surface: string, from: At, to: At) => string]>([
    [
      'lines over the parameter of the line in space',
      (m, surface, from, to) => {
        const [a, b] = [inPlane(from), inPlane(to)];
        const along: At = [b[0] - a[0], b[1] - a[1]];
        // DIRECTION gives no length: VECTOR does, here that of one millimetre in space.
        const plane = m.planeLine(
          a,
          along,
          Math.hypot(...along) / Math.hypot(to[0] - from[0], to[1] - from[1]),
        );
        const space = m.line(from, [to[0] - from[0], to[1] - from[1]]);
        return m.surfaceCurve(space, [m.pcurve(surface, plane)]);
      },
    ],
    [
      'lines over another parameter, from elsewhere',
      (m, surface, from, to) => {
        const [a, b] = [inPlane(from), inPlane(to)];
        const along: At = [b[0] - a[0], b[1] - a[1]];
        const plane = m.planeLine([a[0] - 7 * along[0], a[1] - 7 * along[1]], along, 0.3);
        const space = m.line(from, [to[0] - from[0], to[1] - from[1]]);
        return m.surfaceCurve(space, [m.pcurve(surface, plane)]);
      },
    ],
    [
      'polylines, without a curve in space',
      (m, surface, from, to) => {
        const ends = [inPlane(from), inPlane(to)].map((at) => m.planePoint(...at));
        return m.pcurve(surface, m.add(`POLYLINE('',(${ends.join(',')}))`));
      },
    ],
    [
      'polylines run the other way than the edge',
      (m, surface, from, to) => {
        const ends = [inPlane(to), inPlane(from)].map((at) => m.planePoint(...at));
        return m.pcurve(surface, m.add(`POLYLINE('',(${ends.join(',')}))`));
      },
    ],
    [
      'a curve in space of a kind that is not read',
      (m, surface, from, to) => {
        const ends = [inPlane(from), inPlane(to)].map((at) => m.planePoint(...at));
        const plane = m.add(`POLYLINE('',(${ends.join(',')}))`);
        const space = m.add("OFFSET_CURVE_3D('',$,1.,.F.,$)");
        return m.surfaceCurve(space, [m.pcurve(surface, plane)]);
      },
    ],
    [
      'the pcurve of another surface, and of this one',
      (m, surface, from, to) => {
        const ends = [inPlane(from), inPlane(to)].map((at) => m.planePoint(...at));
        const plane = m.add(`POLYLINE('',(${ends.join(',')}))`);
        const other = m.add(`PLANE('',${m.axes([0, 0, 0])})`);
        const elsewhere = m.pcurve(other, m.planeLine([3, 3], [1, 1]));
        const space = m.line(from, [to[0] - from[0], to[1] - from[1]]);
        return m.surfaceCurve(space, [elsewhere, m.pcurve(surface, plane)], 'INTERSECTION_CURVE');
      },
    ],
  ])('%s', (_, curve) => {
    // In inches: parameters are not scaled, points are.
    const { panels, faults, notices } = read(
      loop((m, surface) =>
        corners.map((from, k) => {
          const to = corners[(k + 1) % corners.length];
          return m.edge(curve(m, surface, from, to), from, to);
        }),
      ),
      (m) => m.inchContext(),
    );
    expect({ faults, notices }).toEqual({ faults: [], notices: [] });
    expectKept(panels[0], (x, y) => within(corners)(x / 25.4, y / 25.4));
    const { trim } = panels[0];
    const legs = trim.kind === 'part' ? trim.region.loops[0].curves : [];
    expect(legs.every((leg) => Math.max(...leg.points) <= 0.9 + 1e-9)).toBe(true);
  });

  test('a circle in the parameter plane is an ellipse on the surface', () => {
    const { panels, notices } = read(
      loop((m, surface) => {
        const axis = m.add(
          `AXIS2_PLACEMENT_2D('',${m.planePoint(0.5, 0.5)},${m.add("DIRECTION('',(0.,1.))")})`,
        );
        const plane = m.add(`CIRCLE('',${axis},0.3)`);
        return [m.edge(m.pcurve(surface, plane), [80, 30], [80, 30])];
      }),
    );
    expect(notices).toEqual([]);
    expectKept(panels[0], (x, y) => Math.hypot(x / 100 - 0.5, y / 60 - 0.5) < 0.3);
  });
});

describe('what is cut from a surface without a line', () => {
  test.each<[string, Made]>([
    ['a face without bounds', (m, surface) => m.boundedFace(surface, [])],
    [
      'vertex_loop: a face bounded by a point',
      (m, surface) => m.boundedFace(surface, [m.add(`VERTEX_LOOP('',${m.vertex([0, 0])})`)]),
    ],
    [
      'the own edges of the surface, straight in space',
      loop((m) => m.legs([0, 0], [100, 0], [100, 60], [0, 60])),
    ],
    [
      'the own edges in the plane, one of them in two pieces',
      loop((m, surface) => {
        const places: At[] = [
          [0, 0],
          [40, 0],
          [100, 0],
          [100, 60],
          [0, 60],
        ];
        return places.map((from, k) => {
          const to = places[(k + 1) % places.length];
          const ends = [from, to].map(([x, y]) => m.planePoint(x / 100, y / 60));
          return m.edge(m.pcurve(surface, m.add(`POLYLINE('',(${ends.join(',')}))`)), from, to);
        });
      }),
    ],
    [
      'a curve_bounded_surface with nothing but its implicit outer border',
      (m, surface) => m.add(`CURVE_BOUNDED_SURFACE('',${surface},(),.T.)`),
    ],
  ])('%s: whole', (_, make) => {
    const { panels, faults, notices } = read(make);
    expect({ faults, notices }).toEqual({ faults: [], notices: [] });
    expect(panels.map(({ trim }) => trim)).toEqual([{ kind: 'whole' }]);
  });
});

describe('trimmed surfaces: ISO 10303-42, rectangular_trimmed_surface, curve_bounded_surface', () => {
  const box =
    (x0: number, x1: number, y0: number, y1: number): Kept =>
    (x, y) =>
      x > x0 && x < x1 && y > y0 && y < y1;
  const boundary = (m: StepFacesMaker, surface: string): string => {
    const ring = many(0, 2 * Math.PI, (t) => [0.5 + 0.2 * Math.cos(t), 0.5 + 0.2 * Math.sin(t)])
      .filter((_, k) => k % 100 === 0)
      .map(([u, v]) => m.planePoint(u, v));
    const half = (points: readonly string[]): string =>
      m.pcurve(surface, m.add(`POLYLINE('',(${points.join(',')}))`));
    return m.composite(
      [
        [half(ring.slice(0, 11)), true],
        [half(ring.slice(10).toReversed()), false],
      ],
      'BOUNDARY_CURVE',
    );
  };
  const ringed = within(
    many(0, 2 * Math.PI, (t): At => [50 + 20 * Math.cos(t), 30 + 12 * Math.sin(t)]).filter(
      (_, k) => k % 100 === 0,
    ),
  );

  test.each<[string, Made, Kept]>([
    [
      'rectangle',
      (m, s) => m.add(`RECTANGULAR_TRIMMED_SURFACE('',${s},.1,.7,.25,.5,.T.,.T.)`),
      box(10, 70, 15, 30),
    ],
    [
      'rectangle with turned senses, beyond the domain',
      (m, s) => m.add(`RECTANGULAR_TRIMMED_SURFACE('',${s},.7,-3.,.5,9.,.F.,.T.)`),
      box(0, 70, 30, 60),
    ],
    [
      'rectangle whose senses contradict its ends',
      (m, s) => m.add(`RECTANGULAR_TRIMMED_SURFACE('',${s},.7,.1,.25,.5,.T.,.F.)`),
      box(10, 70, 15, 30),
    ],
    [
      'boundary_curve',
      (m, s) => m.add(`CURVE_BOUNDED_SURFACE('',${s},(${boundary(m, s)}),.F.)`),
      ringed,
    ],
    [
      'boundary_curve as a hole in the implicit outer border',
      (m, s) => m.add(`CURVE_BOUNDED_SURFACE('',${s},(${boundary(m, s)}),.T.)`),
      (x, y) => !ringed(x, y),
    ],
    [
      'boundary_curve as a hole in a rectangle',
      (m, s) => {
        const part = m.add(`RECTANGULAR_TRIMMED_SURFACE('',${s},.1,.9,.1,.9,.T.,.T.)`);
        return m.add(`CURVE_BOUNDED_SURFACE('',${part},(${boundary(m, part)}),.T.)`);
      },
      (x, y) => box(10, 90, 6, 54)(x, y) && !ringed(x, y),
    ],
    [
      'face without bounds on a rectangle',
      (m, s) =>
        m.boundedFace(m.add(`RECTANGULAR_TRIMMED_SURFACE('',${s},.1,.7,.25,.5,.T.,.T.)`), []),
      box(10, 70, 15, 30),
    ],
  ])('%s', (_, make, kept) => {
    const { panels, faults, notices } = read(make);
    expect({ faults, notices }).toEqual({ faults: [], notices: [] });
    expect(panels.map(({ trim }) => trim.kind)).toEqual(['part']);
    expectKept(panels[0], kept);
  });

  test('a rectangle goes through the seam of a surface that closes', () => {
    // A square tube: x, y round a square in u, z in v.
    const side: At[] = [
      [0, 0],
      [100, 0],
      [100, 100],
      [0, 100],
      [0, 0],
    ];
    const maker = new StepFacesMaker();
    const tube = maker.surface({
      degree: [1, 1],
      knots: [Float64Array.of(0, 0, 1, 2, 3, 4, 4), Float64Array.of(0, 0, 1, 1)],
      columns: 5,
      rows: 2,
      points: Float64Array.from([0, 50].flatMap((z) => side.flatMap(([x, y]) => [x, y, z]))),
      weights: null,
    });
    const part = maker.add(`RECTANGULAR_TRIMMED_SURFACE('',${tube},3.,1.,.5,1.,.T.,.T.)`);
    maker.representation([part], maker.context());
    const { panels, notices } = readStep(maker.file());
    expect(notices).toEqual([]);
    const { trim, net } = panels[0];
    const at = trim.kind === 'part' ? trimTest(net, trim.region) : (): string => 'none';
    expect([0.5, 1.5, 2.5, 3.5].map((u) => at(u, 0.75))).toEqual([
      'inside',
      'outside',
      'outside',
      'inside',
    ]);
    expect(at(0.5, 0.25)).toBe('outside');
  });
});

describe('trims that give no region are told, and the net is read all the same', () => {
  const bad = (curve: (m: StepFacesMaker) => string): Made =>
    loop((m) => [m.edge(curve(m), round(0), round(180)), m.leg(round(180), round(0))]);

  test.each<[string, Made, string, object]>([
    [
      'a kind of curve that is not read',
      bad((m) => m.add("OFFSET_CURVE_3D('',$,1.,.F.,$)")),
      'trim-kind',
      { type: 'OFFSET_CURVE_3D' },
    ],
    [
      'the same in a composite in a trimmed curve',
      bad((m) => m.composite([[m.add("CURVE_REPLICA('',$,$)"), true]])),
      'trim-kind',
      { type: 'CURVE_REPLICA' },
    ],
    [
      'a kind of loop that is not read',
      (m, s) => m.boundedFace(s, [m.add("LOOP('')")]),
      'trim-kind',
      { type: 'LOOP' },
    ],
    [
      'a loop without edges',
      (m, s) => m.boundedFace(s, [m.edgeLoop([])]),
      'trim-damaged',
      { type: 'EDGE_LOOP' },
    ],
    ['an edge without a curve', bad(() => '$'), 'trim-damaged', { type: 'EDGE_CURVE' }],
    [
      'an edge that is none',
      (m, s) => m.boundedFace(s, [m.edgeLoop([m.vertex([0, 0])])]),
      'trim-kind',
      { type: 'VERTEX_POINT' },
    ],
    [
      'knots that fall',
      bad((m) => m.spline('B_SPLINE_CURVE_WITH_KNOTS', 3, hull, '(4,4),(1.,0.)')),
      'trim-damaged',
      { type: 'B_SPLINE_CURVE_WITH_KNOTS' },
    ],
    [
      'a radius of nothing',
      bad((m) => m.conic('CIRCLE', [50, 30], [0])),
      'trim-damaged',
      { type: 'CIRCLE' },
    ],
    [
      'a number beyond all numbers',
      bad((m) => m.add(`CIRCLE('',${m.axes([50, 30, 0])},1.E999)`)),
      'trim-damaged',
      { type: 'CIRCLE' },
    ],
    [
      'a composite of endless curves',
      bad((m) => m.composite([[m.line([0, 0], [1, 0]), true]])),
      'trim-damaged',
      { type: 'LINE' },
    ],
    [
      'a line between one vertex',
      loop((m) => [m.edge(m.line([10, 10], [1, 0]), [10, 10], [10, 10])]),
      'trim-damaged',
      { type: 'EDGE_CURVE' },
    ],
    [
      'a loop that does not close',
      loop((m) => m.legs([10, 10], [90, 10], [30, 50]).slice(1)),
      'trim-open',
      { loop: 1, unit: 'mm' },
    ],
    [
      'a loop off the surface',
      (m, s) => {
        const lifted = hull.map(([x, y]) => m.point(x, y, 5));
        return m.boundedFace(s, [m.add(`POLY_LOOP('',(${lifted.join(',')}))`)]);
      },
      'trim-off-surface',
      { loop: 1, unit: 'mm' },
    ],
    [
      'a rectangle of a face',
      (m, s) =>
        m.add(
          `RECTANGULAR_TRIMMED_SURFACE('',${m.add(`CURVE_BOUNDED_SURFACE('',${s},(),.T.)`)},0.,1.,0.,.5,.T.,.T.)`,
        ),
      'trim-kind',
      { type: 'RECTANGULAR_TRIMMED_SURFACE' },
    ],
  ])('%s', (_, make, code, data) => {
    const { panels, faults, notices } = read(make);
    expect(faults).toEqual([]);
    expect(notices).toMatchObject([{ code, data }]);
    expect(panels).toHaveLength(1);
    expect(panels[0].trim.kind).toBe('unread');
    expect(panels[0].net.points).toEqual(sheet.points);
  });

  test('a record that is missing is a fault as well', () => {
    const { panels, faults, notices } = read(loop((m) => [m.edge('#9000', round(0), round(0))]));
    expect(faults).toMatchObject([{ code: 'step-reference', data: { to: '#9000' } }]);
    expect(notices).toMatchObject([{ code: 'trim-damaged', data: { type: 'EDGE_CURVE' } }]);
    expect(panels[0].trim.kind).toBe('unread');
  });

  test('notices of one kind are told a hundred times, the last with the count of the rest', () => {
    const maker = new StepFacesMaker();
    const faces = Array.from({ length: 130 }, () =>
      maker.boundedFace(maker.surface(sheet), [maker.edgeLoop([])]),
    );
    maker.representation(faces, maker.context());
    const { notices, panels } = readStep(maker.file());
    expect(panels).toHaveLength(130);
    expect(notices).toHaveLength(100);
    expect(notices[99].data['further']).toBe(30);
  });
});

describe('trims made to cost time', () => {
  const ringed = (count: number): At[] =>
    Array.from({ length: count }, (_, k) => round((360 * k) / count));
  const chain = (m: StepFacesMaker, count: number): string => {
    const at = ringed(count);
    return m.composite(
      at.map((from, k) => [m.add(`POLYLINE('',${m.spots([from, at[(k + 1) % count]])})`), true]),
    );
  };

  test.each<[string, Made, string, string[]]>([
    [
      'a composite of ten thousand segments, cut in the middle',
      loop((m) => {
        const middle = ringed(10_000)[5_000];
        return [m.edge(chain(m, 10_000), middle, middle)];
      }),
      'part',
      [],
    ],
    [
      'a polyline of twenty thousand legs, cut in the middle',
      loop((m) => {
        const at = [...ringed(20_000), round(0)];
        return [m.edge(m.add(`POLYLINE('',${m.spots(at)})`), at[9_000], at[9_000])];
      }),
      'part',
      [],
    ],
    [
      'a cubic of ten thousand points',
      loop((m) => {
        const at = [...ringed(10_000), round(0)];
        return [m.edge(m.spline('QUASI_UNIFORM_CURVE', 3, at), round(0), round(0))];
      }),
      'part',
      [],
    ],
    [
      'one composite under a thousand edges',
      loop((m) => {
        const whole = chain(m, 1000);
        const at = ringed(1000);
        return at.map((from, k) => m.edge(whole, from, at[(k + 1) % at.length]));
      }),
      'unread',
      ['too-deep'],
    ],
    [
      'composites that double at each of 30 levels',
      loop((m) => {
        let curve = m.add(`POLYLINE('',${m.spots([round(0), round(90)])})`);
        for (let level = 0; level < 30; level++)
          curve = m.composite([
            [curve, true],
            [curve, false],
          ]);
        return [m.edge(curve, round(0), round(0))];
      }),
      'unread',
      ['too-deep'],
    ],
    [
      'a trimmed curve of itself',
      // it comes next after the four points and the surface
      loop((m) => {
        const name = m.add(
          `TRIMMED_CURVE('',#6,(PARAMETER_VALUE(0.)),(PARAMETER_VALUE(1.)),.T.,$)`,
        );
        return [m.edge(name, round(0), round(0))];
      }),
      'unread',
      [],
    ],
  ])('%s', (_, make, kind, codes) => {
    const start = performance.now();
    const { panels, faults } = read(make);
    // Seconds on any machine; quadratic work would take minutes.
    expect(performance.now() - start).toBeLessThan(15_000);
    expect(panels.map(({ trim }) => trim.kind)).toEqual([kind]);
    expect(faults.map(({ code }) => code)).toEqual(codes);
  });

  test('what trims cost is not taken from the nets that come after them', () => {
    const maker = new StepFacesMaker();
    const whole = chain(maker, 400);
    const at = ringed(400);
    const edges = at.map((from, k) => maker.edge(whole, from, at[(k + 1) % at.length]));
    const face = maker.boundedFace(maker.surface(sheet), [maker.edgeLoop(edges)]);
    maker.representation([face, maker.surface(sheet, 'next')], maker.context());
    const { panels, faults } = readStep(maker.file());
    expect(faults.map(({ code }) => code)).toEqual(['too-deep']);
    expect(panels.map(({ name }) => name)).toContain('next');
  });
});

describe('several faces on one surface', () => {
  const halves = (m: StepFacesMaker, surface: string): string[] => [
    m.boundedFace(surface, [m.edgeLoop(m.legs([0, 0], [50, 0], [50, 60], [0, 60]))], 'left'),
    m.boundedFace(surface, [m.edgeLoop(m.legs([50, 0], [100, 0], [100, 60], [50, 60]))], 'right'),
  ];

  test('each is a panel, in the order of the file', () => {
    const maker = new StepFacesMaker();
    const faces = halves(maker, maker.surface(sheet));
    maker.representation(faces.toReversed(), maker.context());
    const { panels } = readStep(maker.file());
    expect(panels.map(({ name }) => name)).toEqual(['left', 'right']);
    expectKept(panels[0], (x) => x < 50);
    expectKept(panels[1], (x) => x > 50);
    expect(panels[0].net).toBe(panels[1].net);
  });

  test('where no representation holds them as well', () => {
    const maker = new StepFacesMaker();
    halves(maker, maker.surface(sheet));
    expect(readStep(maker.file()).panels.map(({ name }) => name)).toEqual(['left', 'right']);
  });

  test('faces on the same edges are one panel, on whichever side of a wall they are', () => {
    const maker = new StepFacesMaker();
    const surface = maker.surface(sheet);
    const edges = maker.legs([10, 10], [90, 10], [30, 50]);
    const [there, back] = ['.T.', '.F.'].map((sense) => {
      const bound = maker.add(`FACE_OUTER_BOUND('',${maker.edgeLoop(edges)},${sense})`);
      return maker.add(`ADVANCED_FACE('',(${bound}),${surface},${sense})`);
    });
    maker.representation([there, back, surface], maker.context());
    expect(readStep(maker.file()).panels).toHaveLength(1);
  });

  test('a face stands only where its own representation does', () => {
    const maker = new StepFacesMaker();
    const context = maker.context();
    const origin = maker.axes([0, 0, 0]);
    const [left, right] = halves(maker, maker.surface(sheet)).map((face) =>
      maker.representation([face], context),
    );
    const whole = maker.representation([origin], context);
    maker.placed(left, whole, origin, maker.axes([0, 0, 10]));
    maker.placed(right, whole, origin, maker.axes([0, 0, 20]));
    const { panels } = readStep(maker.file());
    expect(panels.map(({ name, net }) => [name, net.points[2]])).toEqual([
      ['left', 10],
      ['right', 20],
    ]);
  });
});
