import type { ControlNet } from './controlNet.ts';

/** Numbers a point has in `netValues`: x, y, z, or those times the weight and the weight. */
export const valueWidth = ({ weights }: Pick<ControlNet, 'weights'>): 3 | 4 => (weights ? 4 : 3);

/**
 * The points of a net as splines along u: column by column (u index outside), row by row within,
 * homogeneous where the net has weights. So one column is one control point of `rows * width` numbers.
 */
export function netValues({ columns, rows, points, weights }: ControlNet): Float64Array {
  const width = valueWidth({ weights });
  const values = new Float64Array(columns * rows * width);
  for (let row = 0; row < rows; row++)
    for (let column = 0; column < columns; column++) {
      const from = row * columns + column;
      const to = (column * rows + row) * width;
      const weight = weights ? weights[from] : 1;
      for (let axis = 0; axis < 3; axis++) values[to + axis] = weight * points[3 * from + axis];
      if (weights) values[to + 3] = weight;
    }
  return values;
}

/** `outer` lists of `inner` points with outer and inner changed over. */
export function turnedValues(
  values: Float64Array,
  outer: number,
  inner: number,
  width: number,
): Float64Array {
  const turned = new Float64Array(values.length);
  for (let i = 0; i < outer; i++)
    for (let j = 0; j < inner; j++)
      for (let k = 0; k < width; k++)
        turned[(j * outer + i) * width + k] = values[(i * inner + j) * width + k];
  return turned;
}
