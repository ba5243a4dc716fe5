import type { BernsteinPatch } from '../geometry/bernsteinPatch.ts';
import { normalTurn, surfaceNormal, type SurfaceJet } from '../geometry/evaluation.ts';
import { meetingForm, slopeForm, type NormalLinePatch } from '../geometry/normalLines.ts';
import { cross, difference, dot, length, scaled, sum, type Vector } from '../geometry/vector.ts';
import type { Look, PanelView } from './panelView.ts';

/**
 * A long straight light line, whose highlight lies where the normal line meets it (Beier & Chen); or
 * a parallel light, whose isophote lies where the normal makes an angle of that cosine with it.
 */
export type Light =
  | { readonly kind: 'line'; readonly through: Vector; readonly along: Vector }
  | { readonly kind: 'parallel'; readonly toward: Vector; readonly cosine: number };

/** Lights of one family, side by side. */
export interface LightFamily {
  readonly lights: readonly Light[];
}

/** Angles of the light lines to the panel's long axis, degrees: even, and the same in a mirror. */
const angles = [0, 60, 120];
/** Lights of one direction, and of the parallel one. Few: coarse bands show more than fine ones. */
const lineCount = 6;
const ringCount = 3;
/** Height of the light lines over the panel's top, as diagonals of the panel. */
const height = 2;
/** Normals that lean less than this over the whole panel have no isophotes to speak of, radians. */
const leastLean = 0.02;
/** A place whose normal rises less than this over the lights' plane is lit by none of them. */
export const leastRise = 0.2;

/** The middles of `count` shares of equal area, in the order of `values`. */
function shareMiddles(
  values: readonly { readonly value: number; readonly area: number }[],
  count: number,
): number[] {
  const sorted = values.toSorted((a, b) => a.value - b.value);
  const total = sorted.reduce((all, { area }) => all + area, 0);
  // the area before a value is that of all lower ones and half of its own
  let before = 0;
  const places = sorted.map(({ value, area }) => {
    const at = before + area / 2;
    before += area;
    return { value, at };
  });
  return Array.from({ length: count }, (_, k) => {
    const wanted = ((k + 0.5) / count) * total;
    const next = places.findIndex(({ at }) => at >= wanted);
    if (next <= 0) return places[next === 0 ? 0 : places.length - 1].value;
    const [a, b] = [places[next - 1], places[next]];
    return a.value + ((wanted - a.at) / (b.at - a.at)) * (b.value - a.value);
  });
}

/**
 * The lights for a panel: three directions of long light lines in a plane over it, and one parallel
 * light from above. The lines of a direction are so placed that their highlights part the panel in
 * bands of equal area, whatever its bend.
 */
export function lightFamilies({
  middle,
  up,
  along,
  across,
  top,
  diagonal,
  looks,
}: PanelView): LightFamily[] {
  const lit = looks.filter(({ normal }) => dot(normal, up) >= leastRise);
  if (lit.length === 0) return [];
  const high = top + height * diagonal;
  const families = angles.map((degrees): LightFamily => {
    const angle = (degrees * Math.PI) / 180;
    const line = sum(scaled(along, Math.cos(angle)), scaled(across, Math.sin(angle)));
    const aside = cross(up, line);
    // where the normal line through a place meets the lights' plane
    const offset = ({ point, normal }: Look): number => {
      const off = difference(point, middle);
      return dot(off, aside) + ((high - dot(off, up)) * dot(normal, aside)) / dot(normal, up);
    };
    return {
      lights: shareMiddles(
        lit.map((look) => ({ value: offset(look), area: look.area })),
        lineCount,
      ).map((at): Light => ({
        kind: 'line',
        through: sum(middle, sum(scaled(aside, at), scaled(up, high))),
        along: line,
      })),
    };
  });
  const leans = lit.map(({ normal, area }) => ({ value: dot(normal, up), area }));
  const lean = Math.acos(Math.min(1, Math.min(...leans.map(({ value }) => value))));
  if (lean < leastLean) return families;
  const rings = shareMiddles(leans, ringCount);
  return [
    ...families,
    { lights: rings.map((cosine): Light => ({ kind: 'parallel', toward: up, cosine })) },
  ];
}

/** The polynomial over a patch that is 0 along a light's line on the surface. */
export const lightForm = (light: Light, patch: NormalLinePatch): BernsteinPatch =>
  light.kind === 'line' ? meetingForm(patch, light) : slopeForm(patch, light.toward, light.cosine);

/**
 * What is 0 along a light's line on the surface, and how it changes along u and v. For a light line
 * (along x n) . (through - S), mm, with the unit normal n along S_u x S_v; for a parallel light the
 * cosine of n and light less the wanted one, where n is turned toward the light. Null where the surface
 * has no normal.
 */
export function lightValue(
  light: Light,
  jet: SurfaceJet,
): { readonly value: number; readonly u: number; readonly v: number } | null {
  const normal = surfaceNormal(jet);
  const turn = normal && normalTurn(jet);
  if (!normal || !turn) return null;
  if (light.kind === 'parallel') {
    const { toward, cosine } = light;
    const own = dot(normal, toward);
    const sign = own < 0 ? -1 : 1;
    return {
      value: sign * own - cosine,
      u: sign * dot(turn.u, toward),
      v: sign * dot(turn.v, toward),
    };
  }
  const { through, along } = light;
  const arm = cross(difference(through, jet.point), along);
  return {
    value: dot(normal, arm),
    u: dot(turn.u, arm) - dot(normal, cross(jet.u, along)),
    v: dot(turn.v, arm) - dot(normal, cross(jet.v, along)),
  };
}

/** How much lightValue changes at most as the normal tilts, per radian: mm for a light line. */
export const lightReach = (light: Light, point: Vector, normal: Vector): number =>
  light.kind === 'parallel'
    ? length(cross(light.toward, normal))
    : length(cross(difference(light.through, point), light.along));

/**
 * Distance between the normal line at a place and a light line, mm, signed: Beier & Chen,
 * Highlight-line algorithm for realtime surface-quality assessment, CAD 26 (1994) 268-277, as given by
 * Patrikalakis, Maekawa, Cho, Shape Interrogation, eq. 8.4 to 8.7:
 * (B x N) . (A - Q) / |B x N| for the line A + l B. Null where the two are parallel or there is no normal.
 */
export function highlightDistance(
  { through, along }: { readonly through: Vector; readonly along: Vector },
  point: Vector,
  normal: Vector,
): number | null {
  const square = cross(along, normal);
  const size = Math.hypot(...square);
  return size > 1e-12 * Math.hypot(...along) * Math.hypot(...normal)
    ? dot(square, difference(through, point)) / size
    : null;
}
