/** The middle of some values in order, the upper of two; NaN of none. */
export const middleValue = (values: readonly number[]): number =>
  values.length > 0 ? values.toSorted((a, b) => a - b)[values.length >> 1] : NaN;
