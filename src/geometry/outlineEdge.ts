import type { SplineCurve } from './splineCurve.ts';

/** A stretch of the outline of what is kept of a surface, from corner to corner. */
export interface OutlineEdge {
  /** In the parameter plane (dimension 2), run over its whole domain. */
  readonly curve: SplineCurve;
  /** Whether the kept part lies to the left of the curve as it runs, with u to the right and v upwards. */
  readonly keptOnLeft: boolean;
  /**
   * The edge of the surface's domain that it runs along: at the low (0) or high (1) end of u (side 0)
   * or v (side 1); null for a trim of the file or a plane of the spec.
   */
  readonly rim: { readonly side: 0 | 1; readonly end: 0 | 1 } | null;
}
