import type { SpectrumTables } from '../../src/measure/locator/spectrumTables.ts';
import { MixtureScorer } from '../../src/measure/locator/mixtureScorer.ts';
import { netFaults, type NetFault } from '../../src/measure/locator/netFaults.ts';
import { length } from '../../src/geometry/vector.ts';
import {
  panelCase,
  type Family,
  type PanelCase,
  type Question,
} from '../bench/locator/panelCase.ts';
import { sampleNet } from './netSamples.ts';
import { recipes } from './recipes.ts';

/** What the locator said of one place of a panel, and whether that was so. */
export interface OddsRecord extends Pick<
  NetFault,
  'part' | 'logOdds' | 'gain' | 'setGain' | 'setSize' | 'deviation'
> {
  readonly recipe: string;
  readonly panel: number;
  readonly question: Question;
  readonly hand: number;
  readonly pointCount: number;
  readonly right: boolean;
  /** mm. */
  readonly size: number;
  readonly found: number;
}

/** How many panels a recipe of each kind. */
export const panelsAsked: readonly (readonly [Question, number])[] = [
  [0, 96],
  [1, 48],
  [2, 8],
  [3, 12],
  [5, 4],
  ['line', 20],
  ['run', 20],
];
const unevenness = [0, 0.01, 0.05, 0.2] as const;

const family = (name: string): Family => ({
  name,
  kind: 'fair',
  net: (random) => sampleNet(recipes[name](random), random),
});

/** Whether a fault is one that was planted. */
function isPlanted({ place }: NetFault, { slips, line, run }: PanelCase): boolean {
  if (place.kind === 'point')
    return slips.some(({ spot }) => spot.row === place.row && spot.column === place.column);
  const index = place.kind === 'row' ? place.row : place.column;
  const planted = place.run ? run : line;
  if (planted?.along !== place.kind || planted.index !== index) return false;
  return !place.run || place.run.every((end, k) => Math.abs(end - run!.run[k]) <= 1);
}

/** Records of panels of one recipe, under tables that do not know it. */
export function oddsRecords(
  name: string,
  tables: SpectrumTables,
  seed: number,
): {
  readonly records: OddsRecord[];
  readonly panels: number;
  /** Clean ones of at most 0.05 mm unevenness among them. */
  readonly evenClean: number;
} {
  const scorer = new MixtureScorer(tables);
  const own = family(name);
  const records: OddsRecord[] = [];
  let [panels, evenClean] = [0, 0];
  for (const [question, count] of panelsAsked)
    for (let k = 0; k < count; k++) {
      const hand = unevenness[k % 8 === 7 ? 3 : k % 3];
      const number = seed + 1000 * panelsAsked.findIndex(([q]) => q === question) + k;
      const one = panelCase(own, hand, question, number);
      if (!one) continue;
      panels++;
      if (question === 0 && hand <= 0.05) evenClean++;
      const told = netFaults(one.net, scorer, tables, null, false);
      for (const fault of told.faults)
        records.push({
          recipe: name,
          panel: panels,
          question,
          hand,
          pointCount: one.pointCount,
          part: fault.part,
          logOdds: fault.logOdds,
          gain: fault.gain,
          setGain: fault.setGain,
          setSize: fault.setSize,
          deviation: fault.deviation,
          right: isPlanted(fault, one),
          size: length(fault.displacement),
          found: told.hand,
        });
    }
  return { records, panels, evenClean };
}
