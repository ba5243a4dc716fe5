/** Learned profiles of one kind of axis: what smooth panels' Legendre spectra look like. */
export interface LearnedProfiles {
  readonly count: number;
  /**
   * Natural logarithm of the expected square of each Legendre coefficient, (per mille of the
   * panel's size)^2: [(k * profileTerms[0] + c) * profileTerms[1] + d] for profile k, degree c
   * along u, d along v.
   */
  readonly logSquares: Float64Array;
  /** Natural logarithms of the profiles' weights, which sum to 1. */
  readonly logWeights: Float64Array;
}

/** What is learned from many panels, as data. */
export interface SpectrumTables {
  readonly inPlane: LearnedProfiles;
  readonly normal: LearnedProfiles;
  /** temperaments[t * spreads.length + r]: share of spread r in temperament t. */
  readonly temperaments: Float64Array;
  readonly temperamentWeights: Float64Array;
}

/** Degrees along u and v that a profile covers. */
export const profileTerms = [16, 14] as const;

/**
 * Factors on a profile's variance that one coefficient may have: far below what its neighbours
 * suggest, or far above.
 */
export const spreads = Float64Array.of(1e-3, 0.05, 0.4, 1.5, 6, 40, 400);

/** How eager to stray from the expected variances a panel may be: one temperament for all of it. */
export const temperamentCount = 3;
