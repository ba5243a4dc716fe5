// What point-jut and point-drift say of panels of several kinds, class A: false names on fair ones, the
// displaced point found, wrong names.
// `node .ci/run-ts.mjs test/bench/locatorCalibration.ts [PANELS]` prints the table, writes the report.
import { writeFileSync } from 'node:fs';
import { resolve } from 'node:path';
import { anySpot, families, juttingNet, unevenNet } from '../../fixtures/panelFamilies.ts';
import { seededRandom, type SeededRandom } from '../../fixtures/seededRandom.ts';
import type { ControlNet, Spot } from '../../src/geometry/controlNet.ts';
import { difference, length, type Vector } from '../../src/geometry/vector.ts';
import { leastUnevenness } from '../../src/measure/displacedPoints.ts';
import { leastHand } from '../../src/measure/spectrumStory.ts';
import { catalogue } from '../../src/rules/catalogue.ts';
import { thresholdsOf, type Miss } from '../../src/rules/rule.ts';
import { subjectOf } from '../../src/rules/subject.ts';
import { slidNet } from '../measure/slidNet.ts';

const hands = [0, 0.01, 0.05];
/** What is wrong with a panel: nothing, a jut (mm), or a drift along a row or column (mm on 1200). */
const slips = [
  { kind: 'none', by: 0 },
  { kind: 'jut', by: 0.5 },
  { kind: 'jut', by: 2 },
  { kind: 'drift', by: 8 },
] as const;
type Slip = (typeof slips)[number];

const panels = Number(process.argv[2] ?? 60);

const rules = catalogue.filter(({ data }) => data.id === 'point-jut' || data.id === 'point-drift');
const gains = Object.fromEntries(
  rules.map(({ data }) => [
    data.id,
    Object.fromEntries(
      ['named-gain', 'probable-gain', 'tie-gain'].map((name) => [
        name,
        thresholdsOf(data, 'A').floor(name),
      ]),
    ),
  ]),
);

interface Trial {
  readonly family: string;
  readonly hand: number;
  readonly slip: Slip;
  readonly large: boolean;
  readonly falseName: boolean;
  readonly found: boolean;
  readonly uncertain: boolean;
  /** Error of the displacement where it was named: mm, and against its length. */
  readonly off: number | null;
  readonly share: number | null;
}

/** A net with the slip at a spot, and how far the point went. */
function slippedNet(
  net: ControlNet,
  spot: Spot,
  { kind, by }: Slip,
  random: SeededRandom,
): { readonly net: ControlNet; readonly moved: Vector } {
  const signed = random.uniform() < 0.5 ? -by : by;
  if (kind !== 'drift') return juttingNet(net, spot, signed);
  const along = random.uniform() < 0.5 ? 'row' : 'column';
  return slidNet(net, spot, along, (signed * leastUnevenness(net)) / leastHand);
}

/** All displaced points that either rule reports. */
function misses(net: ControlNet): Miss[] {
  const subject = subjectOf(net, null);
  return rules.flatMap(({ data, judge }) => {
    const judgement = judge(subject, thresholdsOf(data, 'A'));
    return judgement.outcome === 'missed' ? judgement.misses : [];
  });
}

function trial(family: string, hand: number, slip: Slip, seed: number): Trial {
  const random = seededRandom(seed);
  const fair = families[family](random);
  const uneven = hand > 0 ? unevenNet(fair, random, hand) : fair;
  const spot = anySpot(fair, random);
  const { net, moved } = slippedNet(uneven, spot, slip, random);
  const reported = misses(net);
  const right = ({ site }: Miss): boolean =>
    slip.by > 0 && site.kind === 'point' && site.row === spot.row && site.column === spot.column;
  const named = reported.filter(({ certainty }) => certainty === 'named');
  const hit = named.find(right);
  const off = hit?.displacement ? length(difference(hit.displacement, moved)) : null;
  return {
    family,
    hand,
    slip,
    large: net.points.length >= 75,
    falseName: named.some((miss) => !right(miss)),
    found: hit !== undefined,
    uncertain: named.length === 0 && reported.length > 0,
    off,
    share: off === null ? null : off / length(moved),
  };
}

const share = (trials: readonly Trial[], key: 'falseName' | 'found' | 'uncertain') =>
  trials.length === 0 ? null : trials.filter((t) => t[key]).length / trials.length;

function median(values: readonly number[]): number | null {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted.length === 0 ? null : sorted[sorted.length >> 1];
}

function summary(trials: readonly Trial[]) {
  const clean = trials.filter(({ slip }) => slip.kind === 'none');
  const cell = (kind: Slip['kind'], by: number, large: boolean) => {
    const own = trials.filter(
      ({ slip, ...t }) => slip.kind === kind && slip.by === by && t.large === large,
    );
    const errors = own.flatMap((t) => (t.share === null ? [] : [t.share]));
    return {
      panels: own.length,
      found: share(own, 'found'),
      wrong: share(own, 'falseName'),
      uncertain: share(own, 'uncertain'),
      within20: errors.length > 0 ? errors.filter((e) => e <= 0.2).length / errors.length : null,
      nudgeError: median(own.flatMap((t) => (t.off === null ? [] : [t.off]))),
    };
  };
  return {
    clean: hands.map((hand) => {
      const own = clean.filter((t) => t.hand === hand);
      return {
        hand,
        panels: own.length,
        alarm: share(own, 'falseName'),
        uncertain: share(own, 'uncertain'),
      };
    }),
    jut2large: cell('jut', 2, true),
    jut2small: cell('jut', 2, false),
    jut05large: cell('jut', 0.5, true),
    jut05small: cell('jut', 0.5, false),
    drift8large: cell('drift', 8, true),
    drift8small: cell('drift', 8, false),
  };
}

const trials: Trial[] = [];
Object.keys(families).forEach((family, f) => {
  hands.forEach((hand, h) => {
    slips.forEach((slip, j) => {
      for (let k = 0; k < panels; k++)
        trials.push(trial(family, hand, slip, 1 + k + 1000 * (j + 10 * (h + 10 * f))));
    });
  });
});

const tables = Object.fromEntries(
  [...Object.keys(families), 'all'].map((name) => [
    name,
    summary(trials.filter((t) => name === 'all' || t.family === name)),
  ]),
);

const percent = (value: number | null): string =>
  (value === null ? '-' : (100 * value).toFixed(1)).padStart(6);
console.log(
  'percent of panels; cells: named rightly / named wrongly / uncertain only / displacement within 20 %, median error of it in mm',
);
for (const [name, table] of Object.entries(tables)) {
  const alarms = table.clean.map((c) => percent(c.alarm) + ' (unc' + percent(c.uncertain) + ')');
  console.log(name.padEnd(20), 'clean 0/.01/.05', alarms.join(' '));
  for (const [label, cell] of [
    ['2 mm >=25', table.jut2large],
    ['2 mm <25', table.jut2small],
    ['.5 mm >=25', table.jut05large],
    ['.5 mm <25', table.jut05small],
    ['drift >=25', table.drift8large],
    ['drift <25', table.drift8small],
  ] as const)
    console.log(
      ' '.repeat(20),
      label.padEnd(12),
      [cell.found, cell.wrong, cell.uncertain, cell.within20].map(percent).join(' '),
      cell.nudgeError === null ? '-' : cell.nudgeError.toFixed(3),
    );
}

const rounded = (_: string, value: unknown): unknown =>
  typeof value === 'number' ? Number(value.toFixed(4)) : value;
writeFileSync(
  resolve(import.meta.dirname, '../../reports/locator-d.json'),
  `${JSON.stringify({ panels, gains, families: tables }, rounded, 2)}\n`,
);
