import { centrePlane } from './centre-plane.ts';
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
import type { Rule, RuleData, SeamRule } from './rule.ts';
import { seamAngle } from './seam-angle.ts';
import { seamCurvature } from './seam-curvature.ts';
import { seamFlow } from './seam-flow.ts';
import { seamGap } from './seam-gap.ts';
import { scanBias } from './scan-bias.ts';
import { scanCoverage } from './scan-coverage.ts';
import { scanDistance } from './scan-distance.ts';
import { scanFeature } from './scan-feature.ts';
import { secondDifferenceJump } from './second-difference-jump.ts';
import { sectionSweep } from './section-sweep.ts';
import { smallRadius } from './small-radius.ts';
import { spacingRatio } from './spacing-ratio.ts';
import { spanLimit } from './span-limit.ts';
import { surplusBuild } from './surplus-build.ts';
import { turningJump } from './turning-jump.ts';
import { turningReversal } from './turning-reversal.ts';
import { unequalWeights } from './unequal-weights.ts';

/** Every rule on a panel, in the order in which a modeller would look: the points, the runs, the build, the surface, then how it lies to the scan. */
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
  scanDistance,
  scanBias,
  scanCoverage,
  scanFeature,
];

/** Every rule on how panels meet: what must be mended first comes first. */
export const seamCatalogue: readonly SeamRule[] = [seamGap, seamAngle, seamCurvature, seamFlow];

/** Every rule on a panel and its mirror image. */
export const centreCatalogue: readonly SeamRule[] = [centrePlane];

/** The data of every rule. */
export const ruleData: readonly RuleData[] = [
  ...catalogue,
  ...seamCatalogue,
  ...centreCatalogue,
].map(({ data }) => data);

/** The data of every rule, the job's own among them, by id. */
export const ruleDataById = (own: readonly RuleData[]): ReadonlyMap<string, RuleData> =>
  new Map([...ruleData, ...own].map((data) => [data.id, data]));
