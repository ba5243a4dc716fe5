/** A place of a panel, by its parameters. */
export type Parameters = readonly [number, number];

/** Four corners in the parameter plane, in order round. */
export type ParameterQuad = readonly [Parameters, Parameters, Parameters, Parameters];

/** Whether a place lies in a quad; on its border, either. */
export function isInQuad(quad: ParameterQuad, u: number, v: number): boolean {
  let inside = false;
  for (let k = 0; k < 4; k++) {
    const [a, b] = [quad[k], quad[(k + 1) % 4]];
    if (a[1] > v !== b[1] > v && u < a[0] + ((v - a[1]) / (b[1] - a[1])) * (b[0] - a[0]))
      inside = !inside;
  }
  return inside;
}

/**
 * 1 where a place of a grid of parameters lies over a feature of the scan (of ScanFeatures.cover), row by
 * row in v: what is measured there says nothing of the panel.
 */
export function featureMask(
  cover: readonly ParameterQuad[],
  us: ArrayLike<number>,
  vs: ArrayLike<number>,
): Uint8Array {
  const mask = new Uint8Array(us.length * vs.length);
  for (const quad of cover) {
    const [uLow, uHigh, vLow, vHigh] = ([0, 1] as const).flatMap((side) => {
      const own = quad.map((corner) => corner[side]);
      const [low, high] = [Math.min(...own), Math.max(...own)];
      // a place on a quad's border belongs to it
      const slack = 1e-9 * Math.max(Math.abs(low), Math.abs(high));
      return [low - slack, high + slack];
    });
    const middle = [0, 1].map((side) => quad.reduce((total, c) => total + c[side], 0) / 4);
    for (let j = 0; j < vs.length; j++) {
      if (vs[j] < vLow || vs[j] > vHigh) continue;
      for (let i = 0; i < us.length; i++) {
        if (us[i] < uLow || us[i] > uHigh) continue;
        const [u, v] = [us[i] + 1e-6 * (middle[0] - us[i]), vs[j] + 1e-6 * (middle[1] - vs[j])];
        if (isInQuad(quad, u, v)) mask[j * us.length + i] = 1;
      }
    }
  }
  return mask;
}
