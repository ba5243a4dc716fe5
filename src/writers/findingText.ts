import type { RuleData } from '../rules/rule.ts';
import type { Finding } from '../verdict/finding.ts';
import { shownLimit, shownQuantity, shownSite } from './shown.ts';

/** The gaps a rule's message may have; the catalogue test knows no others. */
export const placeholders = ['site', 'measured', 'limit', 'direction'] as const;

/** A message with its gaps filled. A gap without a value is a defect of the rule, not of a panel. */
export function filled(message: string, values: Readonly<Record<string, string>>): string {
  return message.replace(/\{([a-zA-Z.-]+)\}/g, (_, name: string) => {
    const value = values[name];
    if (value === undefined) throw new Error(`no value for {${name}} in "${message}"`);
    return value;
  });
}

/** "row 3, column 4 juts out by 2.41 mm (limit 0.3 mm)". */
export function findingText(finding: Finding, data: RuleData): string {
  const { miss, unit, limit } = finding;
  const text = filled(data.message, {
    site: shownSite(miss.site),
    measured: shownQuantity(miss.value, unit),
    limit: shownLimit(limit.value, unit),
    direction: miss.direction ?? 'off the run',
  });
  const lines = miss.evidence?.['lines'];
  const of = miss.evidence?.['of'];
  const where = lines === undefined ? '' : `, in ${lines} of ${of} lines across it`;
  return `${finding.certainty === 'uncertain' ? 'probably ' : ''}${text}${where}`;
}

/** What to do about a finding. */
export const remedyText = (finding: Finding, data: RuleData): string =>
  filled(data.remedy, { limit: shownLimit(finding.limit.value, finding.unit) });
