import type { StepFile } from './stepFile.ts';
import { holdingsFinder, type Owner } from './stepHoldings.ts';
import { referencesIn, textIn } from './stepValues.ts';

/** Names kept of one thing. A file that gives more uses layers for something else. */
const mostNames = 64;

const layout = [['PRESENTATION_LAYER_ASSIGNMENT', 3]] as const;

/**
 * The names of the layers that hold faces, trimmed surfaces or surfaces, by their record; also through
 * the shells and sets that a layer holds. Source: ISO 10303-46, presentation_layer_assignment (name,
 * description, assigned_items).
 */
export function stepLayers(
  file: StepFile,
  all: ReadonlyMap<number, Owner>,
): ReadonlyMap<number, ReadonlySet<string>> {
  const found = new Map<number, Set<string>>();
  const records = file.having('PRESENTATION_LAYER_ASSIGNMENT');
  if (records.length === 0) return found;
  const holdingsOf = holdingsFinder(file, all);
  for (const record of records) {
    const values = file.attributes(record, layout);
    const name = textIn(values?.[0]).trim();
    if (!values || name === '') continue;
    for (const { holder } of holdingsOf(record, referencesIn(values[2])).surfaces) {
      const names = found.get(holder) ?? new Set<string>();
      found.set(holder, names);
      if (names.size < mostNames) names.add(name);
    }
  }
  return found;
}
