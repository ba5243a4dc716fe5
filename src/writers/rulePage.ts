import type { Floor, Limit, RuleData, SurfaceClass, Unit } from '../rules/rule.ts';
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

/** The values of a floor: one where the classes are alike. */
function perClass(floor: Floor): string {
  const values = classes.map((c) => shownLimit(floor[c].value, floor.unit));
  return new Set(values).size === 1
    ? values[0]
    : classes.map((c, k) => `${values[k]} in class ${c}`).join(', ');
}

/** A heading of the page without its marks, any other paragraph wrapped. */
const laidOut = (paragraph: string, width: number): string =>
  /^#+ /.test(paragraph)
    ? paragraph.replace(/^#+ /, '')
    : wrapped(paragraph.replaceAll('\n', ' '), '  ', '  ', width).join('\n');

/**
 * The page of a rule for a terminal: its text with the numbers of its data put in, then the limits.
 * The text's gaps are {limit.A}, {severity.moderate}, {floor.NAME.A} and so on.
 */
export function rulePage(data: RuleData, page: string, width: number): string {
  const values: Record<string, string> = {
    'severity.moderate': String(data.severity.moderate),
    'severity.severe': data.severity.severe === null ? 'never' : String(data.severity.severe),
  };
  for (const c of classes) {
    values[`limit.${c}`] = shownLimit(data.limits[c].value, data.unit);
    for (const [name, floor] of Object.entries(data.floors ?? {}))
      values[`floor.${name}.${c}`] = shownLimit(floor[c].value, floor.unit);
  }
  const limits = classes.map((c) => `Class ${c}: ${bound(data, data.limits[c], data.unit)}.`);
  const floors = Object.values(data.floors ?? {}).map(
    (floor) => `${floor.title} ${perClass(floor)} (${floor.A.source}).`,
  );
  const severe =
    data.severity.severe === null ? 'never severe' : `severe from ${data.severity.severe}`;
  const severity = `Moderate from ${data.severity.moderate} times beyond the limit, ${severe}.`;
  const references =
    data.references.length > 0 ? [`Answers to: ${data.references.join('; ')}.`] : [];
  const text = filled(page.trim(), values).split(/\n\s*\n/);
  return [
    ...text.map((paragraph) => laidOut(paragraph, width)),
    'Limits',
    [...limits, ...floors, severity, ...references]
      .flatMap((line) => wrapped(line, '  ', '    ', width))
      .join('\n'),
    wrapped(caution, '', '', width).join('\n'),
  ]
    .join('\n\n')
    .replace(/\n*$/, '\n');
}
