import { fieldHeight } from '../../fixtures/wavyField.ts';
import { seededRandom } from '../../fixtures/seededRandom.ts';

/** mm */
const farthest = 5;

/** Places within 5 mm above or below a wavy field, row by row of a grid, or anywhere. */
export function fieldPlaces(across: number, count: number, order: 'grid' | 'random'): Float64Array {
  const random = seededRandom(7);
  const places = new Float64Array(3 * count);
  const rows = Math.ceil(Math.sqrt(count));
  for (let k = 0; k < count; k++) {
    const [x, y] =
      order === 'grid'
        ? [((k % rows) + 0.5) / rows, (Math.floor(k / rows) + 0.5) / rows]
        : [random.uniform(), random.uniform()];
    const height = fieldHeight(across * x, across * y) + random.between(-farthest, farthest);
    places.set([across * x, across * y, height], 3 * k);
  }
  return places;
}
