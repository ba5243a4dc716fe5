// One assembly with everything an assembly may do to a part, in inches, against positions worked out here.
import { describe, expect, test } from 'vitest';
import { trimTest } from '../../src/geometry/trimTest.ts';
import type { Panel } from '../../src/intake/panel.ts';
import { readStep } from '../../src/intake/step/readStep.ts';
import { outermost, panelsByMotion, pointsOf, turn, type Motion, type Point } from './motion.ts';
import { sheet, StepFacesMaker, type At } from './stepFaces.ts';

const inch = 25.4;

/** The frame that a motion takes the axes to. */
function frame(maker: StepFacesMaker, motion: Motion): string {
  const origin = motion([0, 0, 0]);
  const along = (p: Point): [number, number, number] => {
    const moved = motion(p);
    return [moved[0] - origin[0], moved[1] - origin[1], moved[2] - origin[2]];
  };
  return maker.axes([...origin], along([0, 0, 1]), along([1, 0, 0]));
}

/** A half disc about (50, 30) cut from the sheet of 100 by 60 inches, and a whole sheet beside it. */
function part(maker: StepFacesMaker): string[] {
  const [right, left]: At[] = [
    [70, 30],
    [30, 30],
  ];
  const arc = maker.conic('CIRCLE', [50, 30], [20]);
  const loop = maker.edgeLoop([maker.edge(arc, right, left), maker.leg(left, right)]);
  const raised = {
    ...sheet,
    points: sheet.points.map((x, at) => (at % 3 === 2 ? 0.01 * sheet.points[at - 2] + 7 : x)),
  };
  return [maker.boundedFace(maker.surface(sheet), [loop], 'cut'), maker.surface(raised, 'whole')];
}

/**
 * A part in inches, placed twice in a sub-assembly by product structure; the sub-assembly placed twice in
 * the whole, turned about skew axes, and once more by a mapped item that mirrors and doubles it: ISO
 * 10303-43, mapped_item; ISO 10303-42, cartesian_transformation_operator_3d, which may mirror (axis2) and
 * scale, while axis2_placement_3d is right-handed always.
 */
function assembly(): { readonly bytes: Uint8Array; readonly motions: readonly Motion[] } {
  const maker = new StepFacesMaker();
  const inches = maker.inchContext();
  const origin = maker.axes([0, 0, 0]);
  const piece = maker.representation([...part(maker), origin], inches);
  const sub = maker.representation([origin], inches);
  const whole = [origin];
  const definitions = ['panel', 'fairing', 'Ternwing 3'].map((name) => maker.product(name));
  const inner = [turn([1, 2, 3], 0.7, [120, -40, 5]), turn([-3, 1, 0.5], 2.9, [0, 250, -60])];
  const outer = [turn([0, 1, -4], -1.3, [1000, 30, 0]), turn([2, -1, 1], 3.1, [-700, 0, 420])];

  // The mirror: x' = 2 x, y' = -2 y, z' = 2 z, then a shift.
  const mirror: Motion = ([x, y, z]) => [2 * x - 50, -2 * y + 11, 2 * z + 300];
  const operator = maker.add(
    `CARTESIAN_TRANSFORMATION_OPERATOR_3D('','',$,${maker.direction(1, 0, 0)},` +
      `${maker.direction(0, -1, 0)},${maker.point(-50, 11, 300)},2.,${maker.direction(0, 0, 1)})`,
  );
  const map = maker.add(`REPRESENTATION_MAP(${origin},${sub})`);
  whole.push(maker.add(`MAPPED_ITEM('',${map},${operator})`));
  const top = maker.representation(whole, inches);

  maker.shapeOf(definitions[0], piece);
  maker.shapeOf(definitions[1], sub);
  maker.shapeOf(definitions[2], top);
  for (const motion of inner)
    maker.usage(
      maker.placed(piece, sub, origin, frame(maker, motion)),
      definitions[1],
      definitions[0],
    );
  for (const motion of outer)
    maker.usage(
      maker.placed(sub, top, origin, frame(maker, motion)),
      definitions[2],
      definitions[1],
    );
  return {
    bytes: maker.file(),
    motions: [...outer, mirror].flatMap((out) => inner.map((own) => outermost(out, own))),
  };
}

describe('an assembly in inches: turned, nested, reused, mirrored and scaled parts', () => {
  const { bytes, motions } = assembly();
  const { panels, faults, notices, unit } = readStep(bytes);
  const flat = pointsOf(sheet.points);
  const raised = flat.map(([x, y]): Point => [x, y, 0.01 * x + 7]);

  test('every part stands where it should, to 1e-9', () => {
    expect([faults, notices, unit.name]).toEqual([[], [], 'in']);
    expect(panels).toHaveLength(2 * motions.length);
    const own = panels.filter(({ name }) => name.startsWith('cut'));
    const others = panels.filter(({ name }) => name.startsWith('whole'));
    panelsByMotion(own, flat, motions, inch);
    panelsByMotion(others, raised, motions, inch);
  });

  test('each keeps its trim, which is as loose as it is large', () => {
    const cut = panels.filter(({ name }) => name.startsWith('cut'));
    for (const panel of cut) {
      const { net, trim } = panel;
      if (trim.kind !== 'part') throw new Error(`${panel.name}: ${trim.kind}`);
      const doubled = departureOfScale(panel) > 1.5;
      expect(trim.region.tolerance).toBeCloseTo(
        (doubled ? 2 : 1) * Math.max(0.01, 1e-5 * Math.hypot(100, 60) * inch),
        9,
      );
      const side = trimTest(net, trim.region);
      for (let k = 0; k < 400; k++) {
        const [x, y] = [(k % 20) * 5 + 2.3, Math.floor(k / 20) * 3 + 1.1];
        const isInside = Math.hypot(x - 50, y - 30) < 20 && y > 30;
        expect(side(x / 100, y / 60)).toBe(isInside ? 'inside' : 'outside');
      }
    }
    expect(cut.filter((panel) => departureOfScale(panel) > 1.5)).toHaveLength(2);
  });
});

/** How much longer the sheet's first row is than in the part. */
function departureOfScale({ net: { points } }: Panel): number {
  return Math.hypot(...[0, 1, 2].map((axis) => points[3 + axis] - points[axis])) / (100 * inch);
}
