import {
  seenMeasures,
  seenUnits,
  type ByClass,
  type Limit,
  type RuleData,
  type SurfaceClass,
  type Unit,
} from '../rules/rule.ts';
import { caution } from './caution.ts';
import { filled } from './findingText.ts';
import { shownLimit } from './shown.ts';
import { wrapped } from './wrapped.ts';

const classes: readonly SurfaceClass[] = ['A', 'B', 'C'];

const bound = ({ sense }: RuleData, limit: Limit, unit: Unit): string =>
  `${sense === 'at-most' ? 'at most' : 'at least'} ${shownLimit(limit.value, unit)} (${limit.source})`;

/** Every rule with its title, a line each. */
export function ruleList(rules: readonly RuleData[]): string {
  const width = Math.max(...rules.map(({ id }) => id.length));
  const lines = rules.map(({ id, title }) => `  ${id.padEnd(width)}  ${title}`);
  return `${lines.join('\n')}\n\n"hullsight explain RULE" tells what a rule measures, its limits and how to mend.\n`;
}

/** A value a class, or one where the classes are alike. */
function perClass(limits: ByClass, unit: Unit): string {
  const values = classes.map((c) => shownLimit(limits[c].value, unit));
  return new Set(values).size === 1
    ? values[0]
    : classes.map((c, k) => `${values[k]} in class ${c}`).join(', ');
}

/** The sources of the classes' values, each once. */
const sourcesOf = (limits: ByClass): string =>
  [...new Set(classes.map((c) => limits[c].source))].join('; ');

const seenTitles = {
  peak: 'movement at the peak',
  tilt: 'tilt',
  shift: 'shift of a highlight',
} as const;

const seenLeads = {
  moderate: 'Moderate where two of these three are reached:',
  severe: 'Severe where all three of these are reached:',
} as const;

/** The steps of severity, a sentence each. */
function severityTexts({ severity }: RuleData): string[] {
  if ('seen' in severity)
    return (['moderate', 'severe'] as const).flatMap((step) => [
      seenLeads[step],
      ...seenMeasures.map((measure) => {
        const limits = severity.seen[measure][step];
        return `- ${seenTitles[measure]} ${perClass(limits, seenUnits[measure])} (${sourcesOf(limits)}).`;
      }),
    ]);
  const severe = severity.severe === null ? 'never severe' : `severe from ${severity.severe}`;
  return [`Moderate from ${severity.moderate} times beyond the limit, ${severe}.`];
}

/** The gaps that a page may have for steps of severity, and their values. */
const severityGaps = ({ severity }: RuleData): Record<string, string> =>
  'seen' in severity
    ? Object.fromEntries(
        seenMeasures.flatMap((measure) =>
          (['moderate', 'severe'] as const).flatMap((step) =>
            classes.map((c) => [
              `severity.${measure}.${step}.${c}`,
              shownLimit(severity.seen[measure][step][c].value, seenUnits[measure]),
            ]),
          ),
        ),
      )
    : {
        'severity.moderate': String(severity.moderate),
        'severity.severe': severity.severe === null ? 'never' : String(severity.severe),
      };

/** A heading of the page without its marks, a drawing as it stands, any other paragraph wrapped. */
const laidOut = (paragraph: string, width: number): string =>
  /^#+ /.test(paragraph)
    ? paragraph.replace(/^#+ /, '')
    : paragraph.startsWith('```')
      ? paragraph
          .split('\n')
          .slice(1, -1)
          .map((line) => `  ${line}`)
          .join('\n')
      : wrapped(paragraph.replaceAll('\n', ' '), '  ', '  ', width).join('\n');

/**
 * The page of a rule for a terminal: its text with the numbers of its data put in, then the limits.
 * The text's gaps are {limit.A}, {severity.moderate} or {severity.peak.moderate.A}, {floor.NAME.A}
 * and so on.
 */
export function rulePage(data: RuleData, page: string, width: number): string {
  const values = severityGaps(data);
  for (const c of classes) {
    values[`limit.${c}`] = shownLimit(data.limits[c].value, data.unit);
    for (const [name, floor] of Object.entries(data.floors ?? {}))
      values[`floor.${name}.${c}`] = shownLimit(floor[c].value, floor.unit);
  }
  const limits = classes.map((c) => `Class ${c}: ${bound(data, data.limits[c], data.unit)}.`);
  const floors = Object.values(data.floors ?? {}).map(
    (floor) => `${floor.title} ${perClass(floor, floor.unit)} (${floor.A.source}).`,
  );
  const references =
    data.references.length > 0 ? [`Answers to: ${data.references.join('; ')}.`] : [];
  const text = filled(page.trim(), values).split(/\n\s*\n/);
  return [
    ...text.map((paragraph) => laidOut(paragraph, width)),
    'Limits',
    [...limits, ...floors, ...severityTexts(data), ...references]
      .flatMap((line) => wrapped(line, '  ', '    ', width))
      .join('\n'),
    wrapped(caution, '', '', width).join('\n'),
  ]
    .join('\n\n')
    .replace(/\n*$/, '\n');
}
