import type { ControlNet } from '../geometry/controlNet.ts';
import { surfaceJet, surfaceNormal } from '../geometry/evaluation.ts';
import { domain, grevilleAbscissae, interiorBreakpoints } from '../geometry/knots.ts';
import { angleBetween, distance, type Vector } from '../geometry/vector.ts';

/** A knot inside the panel across which the surface may have a gap or a corner. */
export interface InnerBreak {
  /** Direction in which the knot stands: a break in a row (u) runs along a column. */
  readonly along: 'row' | 'column';
  /** The control point line on (or just before) the break. */
  readonly index: number;
  /** Knot value, parameter units, and its multiplicity. */
  readonly value: number;
  readonly multiplicity: number;
  /** Largest distance between the two sides, mm. */
  readonly gap: number;
  /** Largest angle between the normals of the two sides, radians. */
  readonly angle: number;
  /** Where the angle is largest, mm. */
  readonly position: Vector;
  /** Stations at which a side had no normal. */
  readonly blind: number;
}

/** How far inside the domain its ends are measured, as a share of it. */
const justInside = 1e-3;

/**
 * Gap and corner at every interior knot of multiplicity p or more, measured from both sides at the
 * Greville abscissae of the direction across and midway between them. At lower multiplicity the
 * parametrisation is C1 and there is neither.
 */
export function innerBreaks(net: ControlNet): InnerBreak[] {
  return ([0, 1] as const).flatMap((side) => {
    const other = side === 0 ? 1 : 0;
    const degree = net.degree[side];
    const [low, high] = domain(net.knots[other], net.degree[other]);
    // A collapsed edge has no normal, so the ends are looked at from just inside.
    const [first, last] = [low + justInside * (high - low), high - justInside * (high - low)];
    const between = Array.from(grevilleAbscissae(net.knots[other], net.degree[other])).filter(
      (w) => w > first && w < last,
    );
    const greville = [first, ...between, last];
    const stations = greville.flatMap((w, k) =>
      k + 1 < greville.length ? [w, (w + greville[k + 1]) / 2] : [w],
    );
    return interiorBreakpoints(net.knots[side], degree)
      .filter((b) => b.multiplicity >= degree)
      .map((b): InnerBreak => {
        const before = b.first - 1;
        const after = b.first + b.multiplicity - 1;
        let [gap, angle, blind] = [0, 0, 0];
        let position: Vector | null = null;
        for (const w of stations) {
          const jet = (span: number) =>
            side === 0
              ? surfaceJet(net, b.value, w, [span, undefined])
              : surfaceJet(net, w, b.value, [undefined, span]);
          const [left, right] = [jet(before), jet(after)];
          const [n1, n2] = [surfaceNormal(left), surfaceNormal(right)];
          gap = Math.max(gap, distance(left.point, right.point));
          if (!n1 || !n2) blind += 1;
          else if (position === null || angleBetween(n1, n2) > angle) {
            angle = angleBetween(n1, n2);
            position = left.point;
          }
          position ??= left.point;
        }
        return {
          along: side === 0 ? 'row' : 'column',
          index: b.first - 1,
          value: b.value,
          multiplicity: b.multiplicity,
          gap,
          angle,
          position: position ?? [0, 0, 0],
          blind,
        };
      });
  });
}
