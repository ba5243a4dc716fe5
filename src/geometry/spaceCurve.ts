/** A curve that fills a box; places near each other on it lie near each other. */
export interface SpaceCurve {
  readonly low: readonly [number, number, number];
  /** Cells a millimetre along each axis. */
  readonly scale: readonly [number, number, number];
  /** For each axis, by the number of the cell: the bits that it adds to the place on the curve. */
  readonly bits: readonly [Uint32Array, Uint32Array, Uint32Array];
}

/** Bits of a place on a curve. */
const keyBits = 32;
/** Bits of the number of a cell along an axis, at most. */
const axisBits = 16;

/**
 * The curve through a box, as Morton's (1966, A computer oriented geodetic data base and a new technique
 * in file sequencing, IBM), but for the order of the axes: cells are halved across where they are
 * longest, so that a flat box is not cut into flat cells.
 */
export function spaceCurve(low: readonly number[], high: readonly number[]): SpaceCurve {
  const extents = [0, 1, 2].map((axis) => Math.max(0, high[axis] - low[axis]));
  const halvings: number[][] = [[], [], []];
  for (let bit = keyBits - 1; bit >= 0; bit--) {
    const sizes = extents.map((extent, axis) =>
      halvings[axis].length < axisBits ? extent * 2 ** -halvings[axis].length : -1,
    );
    halvings[sizes.indexOf(Math.max(...sizes))].push(bit);
  }
  const tableOf = (places: readonly number[]): Uint32Array => {
    const table = new Uint32Array(2 ** places.length);
    for (let cell = 1; cell < table.length; cell++) {
      const rest = cell & (cell - 1);
      const lowest = 31 - Math.clz32(cell ^ rest);
      table[cell] = table[rest] + 2 ** places[places.length - 1 - lowest];
    }
    return table;
  };
  const scales = extents.map((extent, axis) => {
    const cells = 2 ** halvings[axis].length;
    const scale = cells / extent;
    return Number.isFinite(scale) ? scale * (1 - 1e-9) : 0;
  });
  return {
    low: [low[0], low[1], low[2]],
    scale: [scales[0], scales[1], scales[2]],
    bits: [tableOf(halvings[0]), tableOf(halvings[1]), tableOf(halvings[2])],
  };
}
