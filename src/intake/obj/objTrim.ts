import type { ControlNet } from '../../geometry/controlNet.ts';
import { domain } from '../../geometry/knots.ts';
import { curveDomain, polyline, type SplineCurve } from '../../geometry/splineCurve.ts';
import { trimmedRegion, type Border } from '../../geometry/trimRegion.ts';
import { fault, type Notice, type Place } from '../fault.ts';
import { borderTolerance } from '../joinTolerance.ts';
import type { Trim } from '../panel.ts';
import { trimNotice } from '../trimNotice.ts';
import { curvesBetween } from '../vdafs/vdaCurves.ts';
import { objCurve } from './objCurve.ts';
import type { CurveUse, ObjElement, ObjLoop } from './objElements.ts';
import type { ObjFile } from './objFile.ts';

/** mm; the format states no resolution, and `borderTolerance` takes the finest that files keep. */
const borderResolution = 0;
/** Share of a domain within which a range means its end: common numbers have six digits. */
const sameEnd = 1e-6;
/** Points of the curves that borders use, over which a file is no model but a trap. */
const mostPoints = 2_000_000;

/** What part of a net is kept, and what to tell of it. */
export interface ObjTrim {
  readonly trim: Trim;
  readonly notices: readonly Notice[];
}

/** Why borders cannot be used: words of the notice trim-unread. */
type Unread = 'kind' | 'pointer' | 'data' | 'apart' | 'range';

/** What cannot be used, and why. */
interface Trouble {
  readonly entity: string;
  readonly what: Unread;
}

type Curves = readonly SplineCurve[] | Unread;

const unreadTrim = (place: Place, entity: string, what: Unread): ObjTrim => ({
  trim: { kind: 'unread', place },
  notices: [{ code: 'trim-unread', place, data: { entity, what } }],
});

/** s0 s1 t0 t1 as a border. */
const rectangle = ([s0, s1, t0, t1]: readonly number[]): Border => [
  {
    plane: polyline([
      [s0, t0],
      [s1, t0],
      [s1, t1],
      [s0, t1],
      [s0, t0],
    ]),
    space: null,
  },
];

type Range = readonly [number, number];

/** The part [from, to] of a domain: its ends where they are the domain's but for rounding; null: none. */
function partOf([low, high]: Range, from: number, to: number): Range | null {
  const close = sameEnd * (high - low);
  if (!(to - from > close && from >= low - close && to <= high + close)) return null;
  return [from - low <= close ? low : from, high - to <= close ? high : to];
}

/** The parameters over which the nets of a surface stand, from the first to the last. */
const wholeOf = (nets: readonly ControlNet[]): readonly Range[] => {
  const [first, last] = [nets[0], nets[nets.length - 1]];
  return ([0, 1] as const).map((side) => [
    domain(first.knots[side], first.degree[side])[0],
    domain(last.knots[side], last.degree[side])[1],
  ]);
};

/** Makes the trims of the surfaces of one file; a curve is read once, and what is wrong with it told once. */
export class ObjTrims {
  private readonly known = new Map<number, Curves>();
  private left = mostPoints;

  constructor(private readonly file: Pick<ObjFile, 'curves' | 'parameterVertices' | 'faults'>) {}

  /**
   * What trim, hole and the range of a surf statement keep of its nets, which are several where it fell
   * to pieces. What lies within an odd number of loops is kept, so that regions may have holes. Where a
   * hole stands before any trim the range is the first outer border, else it adds nothing: borders lie
   * within it (section "Trimming loops and holes").
   */
  of({ range, loops, place }: ObjElement, nets: readonly ControlNet[]): ObjTrim {
    const { record = '' } = place;
    const whole = wholeOf(nets);
    const [u, v] = whole.map((own, side) => partOf(own, range[2 * side], range[2 * side + 1]));
    if (!u || !v) return unreadTrim(place, record, 'range');
    const isPart = [u, v].some(([from, to], side) => from > whole[side][0] || to < whole[side][1]);
    if (!isPart && loops.length === 0) return { trim: { kind: 'whole' }, notices: [] };
    if (nets.length > 1) return unreadTrim(place, record, 'apart');
    const borders: Border[] = [];
    for (const loop of loops) {
      const border = this.border(loop, record);
      if ('what' in border) return unreadTrim(loop.place, border.entity, border.what);
      borders.push(border);
    }
    if (loops[0]?.kind !== 'trim') borders.push(rectangle([...u, ...v]));
    const [net] = nets;
    const region = trimmedRegion(net, borders, borderTolerance(net, borderResolution));
    return 'trouble' in region
      ? {
          trim: { kind: 'unread', place },
          notices: [trimNotice(region, loops[region.loop]?.place ?? place)],
        }
      : { trim: { kind: 'part', region, place }, notices: [] };
  }

  private border({ uses, isWhole }: ObjLoop, surface: string): Border | Trouble {
    if (!isWhole) return { entity: surface, what: 'data' };
    const pieces: SplineCurve[] = [];
    for (const use of uses) {
      const { from, to, curve } = use;
      if (Number.isNaN(curve)) return { entity: surface, what: 'pointer' };
      if (!Number.isFinite(from) || !Number.isFinite(to)) return { entity: surface, what: 'data' };
      const parts = this.parts(use);
      if (typeof parts === 'string') return { entity: `curv2 ${curve}`, what: parts };
      for (const part of parts) pieces.push(part);
    }
    return pieces.map((plane) => ({ plane, space: null }));
  }

  /** What one use takes of its curve, in its own sense. */
  private parts({ from, to, curve: number }: CurveUse): Curves {
    const curves = this.curve(number);
    if (typeof curves === 'string' || from === to) return typeof curves === 'string' ? curves : [];
    const [low] = curveDomain(curves[0]);
    const [, high] = curveDomain(curves[curves.length - 1]);
    const part = partOf([low, high], Math.min(from, to), Math.max(from, to));
    if (!part) return 'range';
    for (const { points } of curves) this.left -= points.length / 2;
    if (this.left < 0) {
      const { place } = this.file.curves[number - 1];
      this.file.faults.add(
        fault('too-deep', place, { what: 'points of curves', most: mostPoints }),
      );
      return 'data';
    }
    return from < to ? curvesBetween(curves, ...part) : curvesBetween(curves, part[1], part[0]);
  }

  private curve(number: number): Curves {
    const known = this.known.get(number);
    if (known) return known;
    const { curves, parameterVertices, faults } = this.file;
    const element = curves[number - 1];
    const read = element.isBroken ? 'data' : objCurve(element, parameterVertices);
    const isTold = typeof read === 'object' && 'code' in read;
    if (isTold) faults.add(read);
    const found = isTold ? 'data' : read;
    this.known.set(number, found);
    return found;
  }
}
