import type { ControlNet } from '../../src/geometry/controlNet.ts';
import { real, StepRecordsMaker } from './stepFile.ts';

/** Where something lies in the plane of `sheet`, in the file's unit. */
export type At = readonly [number, number];

/** A flat panel of 100 by 60 in the plane z = 0: u = x / 100, v = y / 60. */
export const sheet: ControlNet = {
  degree: [1, 1],
  knots: [Float64Array.of(0, 0, 1, 1), Float64Array.of(0, 0, 1, 1)],
  columns: 2,
  rows: 2,
  points: Float64Array.of(0, 0, 0, 100, 0, 0, 0, 60, 0, 100, 60, 0),
  weights: null,
};

const reals = (values: readonly number[]): string => `(${values.map(real).join(',')})`;

/** How an edge uses its curve (same_sense), and a loop its edge (orientation). */
interface Senses {
  readonly sense?: boolean;
  readonly forward?: boolean;
}

const flag = (value: boolean): string => (value ? '.T.' : '.F.');

/** Makes faces with their bounds, edges and curves: ISO 10303-42. */
export class StepFacesMaker extends StepRecordsMaker {
  private readonly vertices = new Map<string, string>();

  planePoint(u: number, v: number): string {
    return this.add(`CARTESIAN_POINT('',${reals([u, v])})`);
  }

  /** A vertex of the plane z = 0; the same place is the same vertex. */
  vertex([x, y]: At): string {
    const known = this.vertices.get(`${x} ${y}`);
    const vertex = known ?? this.add(`VERTEX_POINT('',${this.point(x, y, 0)})`);
    this.vertices.set(`${x} ${y}`, vertex);
    return vertex;
  }

  line([x, y]: At, [dx, dy]: At, size = 1): string {
    const vector = this.add(`VECTOR('',${this.direction(dx, dy, 0)},${real(size)})`);
    return this.add(`LINE('',${this.point(x, y, 0)},${vector})`);
  }

  /** A line of the parameter plane; its direction may have any length. */
  planeLine([u, v]: At, direction: At, size = 1): string {
    const along = this.add(`DIRECTION('',${reals(direction)})`);
    const vector = this.add(`VECTOR('',${along},${real(size)})`);
    return this.add(`LINE('',${this.planePoint(u, v)},${vector})`);
  }

  /** CIRCLE, ELLIPSE, PARABOLA or HYPERBOLA about a place, its x axis turned by `angle`. */
  conic(type: string, [x, y]: At, sizes: readonly number[], angle = 0): string {
    const frame = this.axes([x, y, 0], [0, 0, 1], [Math.cos(angle), Math.sin(angle), 0]);
    return this.add(`${type}('',${frame},${sizes.map(real).join(',')})`);
  }

  /** Points as a list of references. */
  spots(at: readonly At[]): string {
    return `(${at.map(([x, y]) => this.point(x, y, 0)).join(',')})`;
  }

  /** A B-spline curve without a list of knots, or with `knots` (multiplicities, values). */
  spline(type: string, degree: number, at: readonly At[], knots = ''): string {
    const shape = `${degree},${this.spots(at)},.UNSPECIFIED.,.F.,.F.`;
    return this.add(`${type}('',${shape}${knots === '' ? '' : `,${knots},.UNSPECIFIED.`})`);
  }

  edge(curve: string, from: At, to: At, { sense = true, forward = true }: Senses = {}): string {
    const ends = `${this.vertex(from)},${this.vertex(to)}`;
    const edge = this.add(`EDGE_CURVE('',${ends},${curve},${flag(sense)})`);
    return this.add(`ORIENTED_EDGE('',*,*,${edge},${flag(forward)})`);
  }

  /** A straight edge. */
  leg(from: At, to: At, senses: Senses = {}): string {
    return this.edge(this.line(from, [to[0] - from[0], to[1] - from[1]]), from, to, senses);
  }

  /** Straight edges from place to place and back to the first. */
  legs(...at: readonly At[]): string[] {
    return at.map((from, k) => this.leg(from, at[(k + 1) % at.length]));
  }

  edgeLoop(edges: readonly string[]): string {
    return this.add(`EDGE_LOOP('',(${edges.join(',')}))`);
  }

  boundedFace(surface: string, loops: readonly string[], name = ''): string {
    const bounds = loops.map((loop, k) =>
      this.add(`${k === 0 ? 'FACE_OUTER_BOUND' : 'FACE_BOUND'}('',${loop},.T.)`),
    );
    return this.add(`ADVANCED_FACE('${name}',(${bounds.join(',')}),${surface},.T.)`);
  }

  pcurve(surface: string, curve: string): string {
    const context = this.add(
      "( GEOMETRIC_REPRESENTATION_CONTEXT(2) PARAMETRIC_REPRESENTATION_CONTEXT() REPRESENTATION_CONTEXT('','') )",
    );
    const definition = this.add(`DEFINITIONAL_REPRESENTATION('',(${curve}),${context})`);
    return this.add(`PCURVE('',${surface},${definition})`);
  }

  surfaceCurve(space: string, pcurves: readonly string[], type = 'SURFACE_CURVE'): string {
    return this.add(`${type}('',${space},(${pcurves.join(',')}),.PCURVE_S1.)`);
  }

  /** A composite curve of curves, each run forward or not. */
  composite(segments: readonly (readonly [string, boolean])[], type = 'COMPOSITE_CURVE'): string {
    const list = segments.map(([curve, forward]) =>
      this.add(`COMPOSITE_CURVE_SEGMENT(.CONTINUOUS.,${flag(forward)},${curve})`),
    );
    return this.add(`${type}('',(${list.join(',')}),.F.)`);
  }

  /** A context in millimetres, degrees, and with an uncertainty. */
  degreeContext(uncertainty: number): string {
    const length = this.add('( LENGTH_UNIT() NAMED_UNIT(*) SI_UNIT(.MILLI.,.METRE.) )');
    const radian = this.add('( NAMED_UNIT(*) PLANE_ANGLE_UNIT() SI_UNIT($,.RADIAN.) )');
    const factor = this.add(
      `PLANE_ANGLE_MEASURE_WITH_UNIT(PLANE_ANGLE_MEASURE(0.017453292519943295),${radian})`,
    );
    const degree = this.add(
      `( CONVERSION_BASED_UNIT('DEGREE',${factor}) NAMED_UNIT(*) PLANE_ANGLE_UNIT() )`,
    );
    const close = this.add(
      `UNCERTAINTY_MEASURE_WITH_UNIT(LENGTH_MEASURE(${real(uncertainty)}),${length},'','')`,
    );
    return this.add(
      `( GEOMETRIC_REPRESENTATION_CONTEXT(3) GLOBAL_UNCERTAINTY_ASSIGNED_CONTEXT((${close})) ` +
        `GLOBAL_UNIT_ASSIGNED_CONTEXT((${length},${degree})) REPRESENTATION_CONTEXT('','') )`,
    );
  }
}
