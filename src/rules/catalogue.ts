import { collapsedEdge } from './collapsed-edge.ts';
import { degreeLimit } from './degree-limit.ts';
import { highlightKink } from './highlight-kink.ts';
import { hullJut } from './hull-jut.ts';
import { innerBreak } from './inner-break.ts';
import { knotCrowding } from './knot-crowding.ts';
import { legCollapse } from './leg-collapse.ts';
import { narrowPanel } from './narrow-panel.ts';
import { normalFlip } from './normal-flip.ts';
import { pointDrift } from './point-drift.ts';
import { pointJut } from './point-jut.ts';
import { quadFold } from './quad-fold.ts';
import { rowSway } from './row-sway.ts';
import type { Rule, RuleData } from './rule.ts';
import { secondDifferenceJump } from './second-difference-jump.ts';
import { sectionSweep } from './section-sweep.ts';
import { smallRadius } from './small-radius.ts';
import { spacingRatio } from './spacing-ratio.ts';
import { spanLimit } from './span-limit.ts';
import { surplusBuild } from './surplus-build.ts';
import { turningJump } from './turning-jump.ts';
import { turningReversal } from './turning-reversal.ts';
import { unequalWeights } from './unequal-weights.ts';

/** Every rule, in the order in which a modeller would look: the points, the runs, the build, then the surface. */
export const catalogue: readonly Rule[] = [
  pointJut,
  pointDrift,
  hullJut,
  spacingRatio,
  turningReversal,
  turningJump,
  secondDifferenceJump,
  rowSway,
  legCollapse,
  quadFold,
  degreeLimit,
  spanLimit,
  surplusBuild,
  knotCrowding,
  innerBreak,
  collapsedEdge,
  narrowPanel,
  unequalWeights,
  sectionSweep,
  highlightKink,
  smallRadius,
  normalFlip,
];

/** The data of every rule, the job's own among them, by id. */
export const ruleDataById = (own: readonly RuleData[]): ReadonlyMap<string, RuleData> =>
  new Map([...catalogue.map(({ data }) => data), ...own].map((data) => [data.id, data]));
