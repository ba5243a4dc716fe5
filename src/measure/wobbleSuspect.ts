import { basisRow } from '../geometry/basis.ts';
import type { ControlNet } from '../geometry/controlNet.ts';
import { surfaceJet, surfacePoint } from '../geometry/evaluation.ts';
import { domain } from '../geometry/knots.ts';
import { distance, type Vector } from '../geometry/vector.ts';

/** A place of a surface where it seems to wobble. */
export interface WobbleSuspect {
  /** On or near the surface, mm. */
  readonly position: Vector;
  /** Its parameters, where they are known. */
  readonly at: readonly [number, number] | null;
  /** Along the first wavelength; its part in the surface counts. */
  readonly along: Vector;
  /**
   * Full wavelengths along that and across it, mm, from crest to crest if the wobble went on: about twice
   * as wide as the bump is at half its height. A quarter more or less does no harm. One may be
   * Infinity: a ridge or a valley.
   */
  readonly lengths: readonly [number, number];
}

const stations = 96;
/** A Gaussian's wavelength in its standard deviations: as of the template. */
const deviationsPerWave = 4.5;

/** Of one basis function along one direction. */
interface Reach {
  /** Where it is largest. */
  readonly peak: number;
  /** Root of its second moment about that, along a line of the surface, mm. */
  readonly deviation: number;
}

/** Parameters over the support of a basis function, and its values there. */
function support(net: ControlNet, side: 0 | 1, index: number) {
  const [knots, degree] = [net.knots[side], net.degree[side]];
  const [start, end] = domain(knots, degree);
  const low = Math.max(start, knots[index]);
  const high = Math.min(end, knots[index + degree + 1]);
  const at = Array.from({ length: stations + 1 }, (_, k) => low + ((high - low) * k) / stations);
  const values = at.map((w) => {
    const row = basisRow(knots, degree, w, 0);
    return row.values[0][index - row.first] ?? 0;
  });
  return { at, values };
}

function peakOf(net: ControlNet, side: 0 | 1, index: number): number {
  const { at, values } = support(net, side, index);
  return at[values.indexOf(Math.max(...values))];
}

/** How far a basis function reaches along the line of the surface on which the other parameter is held. */
function reach(net: ControlNet, side: 0 | 1, index: number, held: number): Reach {
  const { at, values } = support(net, side, index);
  const peak = peakOf(net, side, index);
  const place = (w: number): Vector =>
    side === 0 ? surfacePoint(net, w, held) : surfacePoint(net, held, w);
  const way = [0];
  for (let k = 1; k < at.length; k++)
    way.push(way[k - 1] + distance(place(at[k - 1]), place(at[k])));
  const top = way[at.indexOf(peak)];
  let [mass, moment] = [0, 0];
  for (let k = 1; k < at.length; k++) {
    const step = way[k] - way[k - 1];
    for (const end of [k - 1, k]) {
      mass += (step / 2) * values[end];
      moment += (step / 2) * values[end] * (way[end] - top) ** 2;
    }
  }
  return { peak, deviation: mass > 0 ? Math.sqrt(moment / mass) : 0 };
}

/**
 * The wobble that a displaced control point makes: at the peak of its basis function, as wide along row and
 * column as the Gaussian of the same second moment.
 */
export function suspectOfPoint(net: ControlNet, row: number, column: number): WobbleSuspect {
  const at = [peakOf(net, 0, column), peakOf(net, 1, row)] as const;
  const jet = surfaceJet(net, at[0], at[1]);
  return {
    position: jet.point,
    at,
    along: jet.u,
    lengths: [
      deviationsPerWave * reach(net, 0, column, at[1]).deviation,
      deviationsPerWave * reach(net, 1, row, at[0]).deviation,
    ],
  };
}

/**
 * The ridge or valley that a displaced row or column makes, at a share (0 to 1) of its way in parameters:
 * its width across the line; along the line it has no end, and the measure looks about as far that way as
 * across.
 */
export function suspectOfLine(
  net: ControlNet,
  along: 'row' | 'column',
  index: number,
  share = 0.5,
): WobbleSuspect {
  const side = along === 'row' ? 1 : 0;
  const [low, high] = domain(net.knots[1 - side], net.degree[1 - side]);
  const held = low + share * (high - low);
  const { peak, deviation } = reach(net, side, index, held);
  const at = side === 0 ? ([peak, held] as const) : ([held, peak] as const);
  const jet = surfaceJet(net, at[0], at[1]);
  return {
    position: jet.point,
    at,
    along: side === 0 ? jet.u : jet.v,
    lengths: [deviationsPerWave * deviation, Infinity],
  };
}
