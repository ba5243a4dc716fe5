import picomatch from 'picomatch';
import type { HalfSpace } from '../geometry/keptPart.ts';
import type { Plane } from '../geometry/planeSections.ts';
import { axes, dot, unit } from '../geometry/vector.ts';
import type { OutsideStatement } from '../measure/outwardSide.ts';
import { catalogue, centreCatalogue, seamCatalogue } from './catalogue.ts';
import type { Rule, RuleData, SeamRule, SurfaceClass } from './rule.ts';
import type { KeepStatement, Spec } from './spec.ts';
import { plainLocator, type LocatorSettings } from './subject.ts';

/** What a run is asked to judge: plain data, so that it can be handed to a worker. */
export interface Order {
  readonly spec: Spec;
  readonly ownRules: readonly RuleData[];
  /** Judge this rule alone. */
  readonly only: string | null;
  /** Give each panel's profiles as well. */
  readonly profiles?: boolean;
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

/** A rule's data with the spec's limits put in. */
function withSpecLimits(data: RuleData, spec: Spec): RuleData {
  const own = spec.rules?.[data.id]?.limits;
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

export function briefOf({ spec, ownRules, only, profiles = false }: Order): Brief {
  /** The rules of a catalogue and those of the job that reuse one of its measures, as the order has them. */
  const ordered = <R extends { readonly data: RuleData }>(all: readonly R[]): R[] => {
    const own = ownRules.flatMap((data): R[] => {
      const model = all.find((rule) => rule.data.measure === data.measure);
      return model ? [{ ...model, data }] : [];
    });
    return [...all, ...own]
      .filter(({ data }) => (only === null || data.id === only) && !spec.rules?.[data.id]?.off)
      .map((rule) => ({ ...rule, data: withSpecLimits(rule.data, spec) }));
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
  };
}
