import type { FaultSet } from './faultSets.ts';
import { choleskyFactor, solution } from './normalEquations.ts';
import type { PanelModel } from './panelModel.ts';

/** Atoms and strengths to be fitted. */
type Start = Pick<FaultSet, 'atoms' | 'strengths'>;

/**
 * The sets in which points of one line are changed over for the line's other points: equal up to
 * what is linear along it.
 */
export function lineComplements(
  { atoms, spectrum }: Pick<PanelModel, 'atoms' | 'spectrum'>,
  { atoms: set, strengths }: Start,
): Start[] {
  const count = spectrum.degrees.count;
  const found: Start[] = [];
  for (const side of ['i', 'j'] as const) {
    const places = set.map((k) => (atoms.list[k].kind === 'point' ? atoms.list[k][side] : null));
    for (const place of new Set(places.filter((p) => p !== null).sort((a, b) => a - b))) {
      const own = set.flatMap((_, s) => (places[s] === place ? [s] : []));
      const rest = set.flatMap((_, s) => (places[s] === place ? [] : [s]));
      const mine = own.map((s) => set[s]);
      const others = atoms.list.flatMap(({ kind, [side]: at }, k) =>
        kind === 'point' && at === place && !mine.includes(k) ? [k] : [],
      );
      if (own.length < 2 || others.length === 0 || others.length > own.length + 1) continue;
      const size = others.length;
      others.forEach(atoms.fill);
      const matrix = new Float64Array(size * size);
      const right = new Float64Array(size);
      for (const pattern of atoms.patterns)
        for (let c = 0; c < count; c++) {
          const moved = own.reduce((t, s) => t + strengths[s] * pattern[set[s] * count + c], 0);
          for (let s = 0; s < size; s++) {
            const mark = pattern[others[s] * count + c];
            right[s] += mark * moved;
            for (let t = 0; t < size; t++)
              matrix[s * size + t] += mark * pattern[others[t] * count + c];
          }
        }
      const fitted = solution(choleskyFactor(matrix, size), right);
      found.push({
        atoms: [...rest.map((s) => set[s]), ...others],
        strengths: Float64Array.from([...rest.map((s) => strengths[s]), ...fitted]),
      });
    }
  }
  return found;
}
