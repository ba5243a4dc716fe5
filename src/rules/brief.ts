import picomatch from 'picomatch';
import type { HalfSpace } from '../geometry/keptPart.ts';
import type { Plane } from '../geometry/planeSections.ts';
import { axes, dot, unit } from '../geometry/vector.ts';
import type { OutsideStatement } from '../measure/outwardSide.ts';
import { catalogue, centreCatalogue, seamCatalogue } from './catalogue.ts';
import { featureBounds, scanFeature } from './scan-feature.ts';
import { scanDistance } from './scan-distance.ts';
import type { FeatureBounds } from '../measure/featureMeetings.ts';
import {
  thresholdsOf,
  type ByClass,
  type Rule,
  type RuleData,
  type SeamRule,
  type SurfaceClass,
} from './rule.ts';
import type { KeepStatement, ScanTolerance, Spec, Stage } from './spec.ts';
import { plainLocator, type LocatorSettings } from './subject.ts';

/** What a run is asked to judge: plain data, so that it can be handed to a worker. */
export interface Order {
  readonly spec: Spec;
  readonly ownRules: readonly RuleData[];
  /** Judge this rule alone. */
  readonly only: string | null;
  /** Give each panel's profiles as well. */
  readonly profiles?: boolean;
  /** Files of the scan that panels are judged by whose entry of the spec names none of their own. */
  readonly scan?: readonly string[];
  /** Name of one of the spec's stages; where the spec has stages and none is named, its last counts. */
  readonly stage?: string | null;
}

/** How the panels of a job meet. */
export interface SeamBrief {
  /** mm. */
  readonly reach: number;
  /** Degrees. */
  readonly smoothBelow: number;
  /** What the spec says of two panels; null: nothing. */
  readonly meant: (a: string, b: string) => 'smooth' | 'feature' | 'apart' | null;
}

/** Common practice: panels stand closer than this where they meet, and farther apart where they do not. */
const reach = 1;
/** Degrees; common practice. */
const smoothBelow = 5;

/** The order worked out: which rules, and what holds for a panel of a given name. */
export interface Brief {
  readonly rules: readonly Rule[];
  readonly seamRules: readonly SeamRule[];
  /** Whether any rule looks at several panels. */
  readonly together: boolean;
  readonly centreRules: readonly SeamRule[];
  /** The body's plane of symmetry; null where the spec names none. */
  readonly centre: Plane | null;
  readonly seams: SeamBrief;
  readonly classOf: (panel: string) => SurfaceClass;
  readonly outsideOf: (panel: string) => OutsideStatement | null;
  /** The halves of space that are kept of a panel; none: all of it. */
  readonly keepOf: (panel: string) => readonly HalfSpace[];
  /** Of a panel's material, mm; 0 where the spec does not say. */
  readonly thicknessOf: (panel: string) => number;
  readonly locator: LocatorSettings;
  /** mm; null where the spec does not say. */
  readonly sectionSpacing: number | null;
  readonly profiles: boolean;
  /** The files of a panel's scan, taken as one; none: no scan. */
  readonly scanOf: (panel: string) => readonly string[];
  /** What may lie between a panel and its scan, mm. */
  readonly scanLimits: ByClass;
  /** What counts as a feature of a scan for a class; null: nothing does. */
  readonly featuresOf: (surfaceClass: SurfaceClass) => FeatureBounds | null;
  /** Share of the distance to the scan that the job wants kept free. */
  readonly scanMargin: number;
}

/** Patterns of the spec that fit none of the panels: a slip of the pen, or a panel that is not there. */
export const unfittedNames = ({ panels = [] }: Spec, names: readonly string[]): string[] =>
  panels
    .flatMap((group) => group.names)
    .filter((pattern) => {
      const fits = picomatch(pattern, { bash: true });
      return !names.some((name) => fits(name));
    });

/** Rules that the spec takes off. */
export const switchedOff = ({ rules = {} }: Spec): string[] =>
  Object.keys(rules).filter((id) => rules[id].off);

/** The stage that is judged by: the one named, else the last; null: the spec has none, or no such one. */
export const stageOf = ({ stages = [] }: Spec, name: string | null = null): Stage | null =>
  (name === null ? stages.at(-1) : stages.find((stage) => stage.name === name)) ?? null;

/** What the job allows between a panel and its scan, and where that stands; null: nothing is said. */
function scanTolerance(
  spec: Spec,
  stage: Stage | null,
): (ScanTolerance & { readonly source: string }) | null {
  if (stage) return { ...stage.scanTolerance, source: `spec, stage ${stage.name}` };
  return spec.scanTolerance ? { ...spec.scanTolerance, source: 'spec' } : null;
}

/** The lists of files that panels may be judged by. */
export const scanLists = ({ spec, scan = [] }: Order): (readonly string[])[] => {
  const lists = [
    scan.length > 0 ? scan : (spec.scan ?? []),
    ...(spec.panels ?? []).map((group) => group.scan ?? []),
  ].filter((list) => list.length > 0);
  const keys = lists.map(scanKey);
  return lists.filter((_, k) => keys.indexOf(keys[k]) === k);
};

/** Files of one scan as a key. */
export const scanKey = (files: readonly string[]): string => files.join('\n');

/** A rule's data with the spec's limits put in. */
function withSpecLimits(data: RuleData, spec: Spec, stage: Stage | null): RuleData {
  const own = spec.rules?.[data.id]?.limits;
  const tolerance = data.id === 'scan-distance' && !own ? scanTolerance(spec, stage) : null;
  if (tolerance) {
    const limit = { value: tolerance.limit, source: tolerance.source };
    return { ...data, limits: { A: limit, B: limit, C: limit } };
  }
  if (!own) return data;
  const limit = (surfaceClass: SurfaceClass) => {
    const value = own[surfaceClass];
    return value === undefined ? data.limits[surfaceClass] : { value, source: 'spec' };
  };
  return { ...data, limits: { A: limit('A'), B: limit('B'), C: limit('C') } };
}

/** The halves of space of one statement: two where it says from and to. */
function halfSpaces(statement: KeepStatement): HalfSpace[] {
  if ('through' in statement) {
    const normal = unit(statement.away);
    return normal ? [{ normal, most: dot(normal, statement.through) }] : [];
  }
  const { axis, from, to } = statement;
  const [x, y, z] = axes[axis];
  return [
    ...(to === undefined ? [] : [{ normal: axes[axis], most: to }]),
    ...(from === undefined ? [] : [{ normal: [-x, -y, -z] as const, most: -from }]),
  ];
}

function seamBrief({ seams = {} }: Spec): SeamBrief {
  const pairs = (seams.pairs ?? []).map(({ names, meant }) => ({
    fits: names.map((name) => picomatch(name, { bash: true })),
    meant,
  }));
  return {
    reach: seams.reach ?? reach,
    smoothBelow: seams.smoothBelow ?? smoothBelow,
    meant: (a, b) =>
      pairs.find(({ fits: [one, other] }) => (one(a) && other(b)) || (one(b) && other(a)))?.meant ??
      null,
  };
}

export function briefOf({
  spec,
  ownRules,
  only,
  profiles = false,
  scan = [],
  stage: stageName = null,
}: Order): Brief {
  const stage = stageOf(spec, stageName);
  /** The rules of a catalogue and those of the job that reuse one of its measures, as the order has them. */
  const ordered = <R extends { readonly data: RuleData }>(all: readonly R[]): R[] => {
    const own = ownRules.flatMap((data): R[] => {
      const model = all.find((rule) => rule.data.measure === data.measure);
      return model ? [{ ...model, data }] : [];
    });
    return [...all, ...own]
      .filter(({ data }) => (only === null || data.id === only) && !spec.rules?.[data.id]?.off)
      .map((rule) => ({ ...rule, data: withSpecLimits(rule.data, spec, stage) }));
  };
  const groups = (spec.panels ?? []).map((group) => ({
    group,
    fits: picomatch(group.names as string[], { bash: true }),
  }));
  const groupOf = (panel: string) => groups.find(({ fits }) => fits(panel))?.group;
  const rules = ordered(catalogue);
  const seamRules = ordered(seamCatalogue);
  const centreRules = ordered(centreCatalogue);
  return {
    rules,
    seamRules,
    centreRules,
    centre: spec.symmetry ? { normal: axes[spec.symmetry.axis], at: spec.symmetry.at } : null,
    // sections run on from panel to panel
    together:
      seamRules.length > 0 ||
      centreRules.length > 0 ||
      rules.some(({ data }) => data.measure === 'sectionCombs'),
    seams: seamBrief(spec),
    classOf: (panel) => groupOf(panel)?.class ?? spec.class ?? 'A',
    outsideOf: (panel) => groupOf(panel)?.outside ?? spec.outside ?? null,
    keepOf: (panel) => (groupOf(panel)?.keep ?? []).flatMap(halfSpaces),
    thicknessOf: (panel) => groupOf(panel)?.thickness ?? 0,
    locator: {
      hand: spec.locator?.unevenness ?? plainLocator.hand,
      falseAlarms: spec.locator?.falseAlarms ?? plainLocator.falseAlarms,
    },
    sectionSpacing: spec.sections?.spacing ?? null,
    profiles,
    scanOf: (panel) => groupOf(panel)?.scan ?? (scan.length > 0 ? scan : (spec.scan ?? [])),
    scanLimits: withSpecLimits(scanDistance.data, spec, stage).limits,
    featuresOf: (surfaceClass) =>
      spec.rules?.[scanFeature.data.id]?.off
        ? null
        : featureBounds(thresholdsOf(scanFeature.data, surfaceClass)),
    scanMargin: scanTolerance(spec, stage)?.margin ?? 0,
  };
}
