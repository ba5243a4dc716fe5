import type { ControlNet } from '../../geometry/controlNet.ts';
import { domain } from '../../geometry/knots.ts';
import { polyline, type SplineCurve } from '../../geometry/splineCurve.ts';
import { trimmedRegion, type Border } from '../../geometry/trimRegion.ts';
import type { Notice, Place } from '../fault.ts';
import { borderTolerance } from '../joinTolerance.ts';
import type { Trim } from '../panel.ts';
import { trimNotice } from '../trimNotice.ts';
import { curvesBetween } from '../vdafs/vdaCurves.ts';
import { objCurve } from './objCurve.ts';
import type { ObjElement, ObjLoop } from './objElements.ts';
import type { ObjFile } from './objFile.ts';

/** mm; the format states no resolution, and `borderTolerance` takes the finest that files keep. */
const borderResolution = 0;
/** Share of a domain within which a range means its end: common numbers have six digits. */
const sameEnd = 1e-6;
/** Trimming curves of all surfaces together, over which a file is no model but a trap. */
const mostCurves = 200_000;

/** What part of a net is kept, and what to tell of it. */
export interface ObjTrim {
  readonly trim: Trim;
  readonly notices: readonly Notice[];
}

/** Why borders cannot be used: words of the notice trim-unread. */
type Unread = 'kind' | 'pointer' | 'data' | 'apart';

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

/** Where a range lies in a net's domain; `part`: leaves some of it out. */
function rangeStanding(net: ControlNet, range: readonly number[]): 'whole' | 'part' | 'wrong' {
  let isPart = false;
  for (const side of [0, 1] as const) {
    const [from, to] = domain(net.knots[side], net.degree[side]);
    const close = sameEnd * (to - from);
    const [begin, end] = [range[2 * side], range[2 * side + 1]];
    if (!(end - begin > close && begin >= from - close && end <= to + close)) return 'wrong';
    isPart ||= begin > from + close || end < to - close;
  }
  return isPart ? 'part' : 'whole';
}

/** Makes the trims of the surfaces of one file, whose curves are read once each. */
export class ObjTrims {
  private readonly known = new Map<number, readonly SplineCurve[] | Unread>();
  private left = mostCurves;

  constructor(private readonly file: Pick<ObjFile, 'curves' | 'parameterVertices'>) {}

  /**
   * What trim, hole and the range of a surf statement keep of a net. Where there is an outer border
   * the range adds nothing: borders lie within it (section "trim"). `isApart`: the net is one of
   * several that the surface fell into.
   */
  of({ range, loops, place }: ObjElement, net: ControlNet, isApart: boolean): ObjTrim {
    if (isApart)
      return loops.length > 0
        ? unreadTrim(place, 'surf', 'apart')
        : { trim: { kind: 'whole' }, notices: [] };
    const standing = rangeStanding(net, range);
    if (standing === 'wrong') return unreadTrim(place, 'surf', 'data');
    if (standing === 'whole' && loops.length === 0) return { trim: { kind: 'whole' }, notices: [] };
    const borders: Border[] = loops.some(({ kind }) => kind === 'trim') ? [] : [rectangle(range)];
    for (const loop of loops) {
      const border = this.border(loop);
      if (typeof border === 'string') return unreadTrim(loop.place, loop.kind, border);
      borders.push(border);
    }
    const region = trimmedRegion(net, borders, borderTolerance(net, borderResolution));
    return 'trouble' in region
      ? { trim: { kind: 'unread', place }, notices: [trimNotice(region, place)] }
      : { trim: { kind: 'part', region, place }, notices: [] };
  }

  private border({ uses }: ObjLoop): Border | Unread {
    const pieces: SplineCurve[] = [];
    for (const { from, to, curve } of uses) {
      if (Number.isNaN(curve)) return 'pointer';
      if (!Number.isFinite(from) || !Number.isFinite(to)) return 'data';
      const curves = this.curve(curve);
      if (typeof curves === 'string') return curves;
      this.left -= curves.length;
      if (this.left < 0) return 'data';
      pieces.push(...curvesBetween(curves, from, to));
    }
    return pieces.map((plane) => ({ plane, space: null }));
  }

  private curve(number: number): readonly SplineCurve[] | Unread {
    const known =
      this.known.get(number) ?? objCurve(this.file.curves[number - 1], this.file.parameterVertices);
    this.known.set(number, known);
    return known;
  }
}
