import { length, type Vector } from '../geometry/vector.ts';
import { jsonError } from '../intake/jsonError.ts';
import { nearestName } from '../intake/nearestName.ts';
import type { OutsideStatement } from '../measure/outwardSide.ts';
import { ruleData } from './catalogue.ts';
import { placeholders, type RuleData, type SurfaceClass } from './rule.ts';
import { ruleShape } from './rule.generated.js';
import { specShape, type ShapeError } from './spec.generated.js';

export type Severity = 'severe' | 'moderate' | 'slight';

/** What of space is kept: between two values on an axis, or one side of a plane; mm. */
export type KeepStatement =
  | { readonly axis: 'x' | 'y' | 'z'; readonly from?: number; readonly to?: number }
  | { readonly through: Vector; readonly away: Vector };

/** How far a panel may lie off the scan, mm, and the share of that to be kept free. */
export interface ScanTolerance {
  readonly limit: number;
  readonly margin?: number;
}

/** What a panel must hold at a stage of its work. */
export interface Stage {
  readonly name: string;
  readonly scanTolerance: ScanTolerance;
  readonly release?: boolean;
}

/** A job's own limits, as hullsight.json holds them; schema: spec.schema.json. */
export interface Spec {
  readonly class?: SurfaceClass;
  readonly outside?: OutsideStatement;
  readonly blockAt?: Severity;
  readonly locator?: { readonly unevenness?: number; readonly falseAlarms?: number };
  readonly sections?: { readonly spacing: number };
  /** The body's plane of symmetry: `at` mm along that axis. */
  readonly symmetry?: { readonly axis: 'x' | 'y' | 'z'; readonly at: number };
  readonly seams?: {
    readonly reach?: number;
    readonly smoothBelow?: number;
    readonly pairs?: readonly {
      readonly names: readonly [string, string];
      readonly meant: 'smooth' | 'feature' | 'apart';
    }[];
  };
  /** Files of the scan, and what may lie between it and the panels. */
  readonly scan?: readonly string[];
  readonly scanTolerance?: ScanTolerance;
  readonly stages?: readonly Stage[];
  readonly panels?: readonly {
    readonly names: readonly string[];
    readonly scan?: readonly string[];
    readonly class?: SurfaceClass;
    readonly outside?: OutsideStatement;
    readonly keep?: readonly KeepStatement[];
    /** mm. */
    readonly thickness?: number;
  }[];
  readonly rules?: Readonly<
    Record<
      string,
      { readonly off?: boolean; readonly limits?: Partial<Record<SurfaceClass, number>> }
    >
  >;
  readonly ownRules?: readonly string[];
}

/** What is wrong with a spec or a rule file: where in it (JSON pointer, or line), and the nearest known word. */
export interface SpecFault {
  readonly code:
    'json-syntax' | 'shape' | 'unknown-key' | 'unknown-rule' | 'unknown-measure' | 'rule-id-taken';
  readonly where: string;
  readonly data: Readonly<Record<string, string>>;
}

const ruleIds = ruleData.map(({ id }) => id);
const measures = ruleData.map(({ measure }) => measure);

const specKeys = [
  'format',
  'version',
  'note',
  'class',
  'outside',
  'blockAt',
  'locator',
  'unevenness',
  'falseAlarms',
  'sections',
  'spacing',
  'symmetry',
  'at',
  'seams',
  'reach',
  'smoothBelow',
  'pairs',
  'meant',
  'panels',
  'rules',
  'ownRules',
  'names',
  'off',
  'limits',
  'why',
  'awayFrom',
  'along',
  'keep',
  'thickness',
  'scan',
  'scanTolerance',
  'limit',
  'margin',
  'stages',
  'name',
  'release',
  'axis',
  'from',
  'to',
  'through',
  'away',
];

/** The rule id nearest to a mistyped one, or ''. */
export const nearestRule = (id: string): string => nearestName(id, ruleIds) ?? '';

function shapeFault(errors: readonly ShapeError[], keys: readonly string[]): SpecFault {
  // An "anyOf" is reported after its branches; an unknown key says most.
  const error = errors.find((e) => e.keyword === 'additionalProperties') ?? errors[0];
  const key = error.params['additionalProperty'];
  if (typeof key === 'string')
    return {
      code: 'unknown-key',
      where: error.instancePath,
      data: { key, nearest: nearestName(key, keys) ?? '' },
    };
  const allowed = error.params['allowedValues'] ?? error.params['allowedValue'];
  return {
    code: 'shape',
    where: error.instancePath,
    data: {
      what: allowed === undefined ? error.message : `${error.message}: ${JSON.stringify(allowed)}`,
    },
  };
}

function syntaxFault(text: string): SpecFault {
  const error = jsonError(text);
  return {
    code: 'json-syntax',
    where: error ? `line ${error.line}` : '',
    data: { what: error?.what ?? '' },
  };
}

function parsed(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    return undefined;
  }
}

/** The spec in a text, or what is wrong with it. */
export function specOf(text: string): Spec | SpecFault {
  const content = parsed(text);
  if (content === undefined) return syntaxFault(text);
  if (!specShape(content)) return shapeFault(specShape.errors!, specKeys);
  const spec = content as Spec;
  const blind = [spec, ...(spec.panels ?? [])].some(
    ({ outside }) => outside && 'along' in outside && length(outside.along) === 0,
  );
  if (blind)
    return {
      code: 'shape',
      where: '/outside/along',
      data: { what: 'a direction needs a length' },
    };
  const crooked = (spec.panels ?? [])
    .flatMap(({ keep = [] }) => keep)
    .find((one) =>
      'axis' in one
        ? (one.from ?? -Infinity) >= (one.to ?? Infinity)
        : !(length(one.away) > 0 && Number.isFinite(length(one.away))),
    );
  if (crooked)
    return {
      code: 'shape',
      where: '/panels/keep',
      data: {
        what: 'axis' in crooked ? '"from" must be less than "to"' : '"away" needs a length',
      },
    };
  const names = (spec.stages ?? []).map(({ name }) => name);
  const twice = names.find((name, k) => names.indexOf(name) < k);
  if (twice !== undefined)
    return { code: 'shape', where: '/stages', data: { what: `two stages are called "${twice}"` } };
  const unknown = Object.keys(spec.rules ?? {}).find((id) => !ruleIds.includes(id));
  return unknown === undefined
    ? spec
    : {
        code: 'unknown-rule',
        where: '/rules',
        data: { rule: unknown, nearest: nearestRule(unknown) },
      };
}

/** A job's own rule, or what is wrong with it: it must reuse a built-in rule's measure under a new id. */
export function ownRuleOf(text: string): RuleData | SpecFault {
  const content = parsed(text);
  if (content === undefined) return syntaxFault(text);
  if (!ruleShape(content)) return shapeFault(ruleShape.errors!, Object.keys(ruleData[0]));
  const data = content as RuleData;
  if (ruleIds.includes(data.id))
    return { code: 'rule-id-taken', where: '/id', data: { rule: data.id } };
  const model = ruleData.find(({ measure }) => measure === data.measure);
  if (!model)
    return {
      code: 'unknown-measure',
      where: '/measure',
      data: { measure: data.measure, nearest: nearestName(data.measure, measures) ?? '' },
    };
  for (const key of ['unit', 'sense'] as const)
    if (data[key] !== model[key])
      return {
        code: 'shape',
        where: `/${key}`,
        data: { what: `the measure asks for "${model[key]}"` },
      };
  if ('seen' in data.severity && !('seen' in model.severity))
    return {
      code: 'shape',
      where: '/severity',
      data: { what: 'the measure tells nothing that is seen: give times beyond the limit' },
    };
  for (const key of ['message', 'remedy'] as const)
    for (const [, gap] of data[key].matchAll(/\{([^}]*)\}/g))
      if (!placeholders.some((name) => name === gap))
        return { code: 'shape', where: `/${key}`, data: { what: `nothing fills {${gap}}` } };
  // Floors that the job leaves out are those of the rule whose measure it is.
  return model.floors || data.floors
    ? { ...data, floors: { ...model.floors, ...data.floors } }
    : data;
}

export const isSpecFault = (result: Spec | RuleData | SpecFault): result is SpecFault =>
  'code' in result;
