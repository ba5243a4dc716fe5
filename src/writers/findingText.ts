import type { placeholders, RuleData } from '../rules/rule.ts';
import type { Finding } from '../verdict/finding.ts';
import { heldText } from './buildText.ts';
import { shownLimit, shownQuantity, shownSite } from './shown.ts';

/** A message with its gaps filled. A gap without a value is a defect of the rule, not of a panel. */
export function filled(message: string, values: Readonly<Record<string, string>>): string {
  return message.replace(/\{([a-zA-Z.-]+)\}/g, (_, name: string) => {
    const value = values[name];
    if (value === undefined) throw new Error(`no value for {${name}} in "${message}"`);
    return value;
  });
}

const gaps = ({ miss, unit, limit }: Finding): Record<(typeof placeholders)[number], string> => ({
  site: shownSite(miss.site),
  measured: shownQuantity(miss.value, unit),
  limit: shownLimit(limit.value, unit),
  direction: miss.direction ?? 'off the run',
});

/** Gaps below this are rounding, mm. */
const leastGap = 1e-6;

/** "row 3, column 4 juts out by 2.41 mm (limit 0.3 mm)". */
export function findingText(finding: Finding, data: RuleData): string {
  const { miss } = finding;
  const text = filled(data.message, gaps(finding));
  const lines = miss.evidence?.['lines'];
  const of = miss.evidence?.['of'];
  const stretch = miss.evidence?.['part'] === undefined ? '' : ' between breaks of the net';
  const where = lines === undefined ? '' : `, in ${lines} of ${of} lines across it${stretch}`;
  const gap = miss.evidence?.['gap'];
  const bend = miss.evidence?.['curvature'];
  const apart =
    miss.beyond === undefined || gap === undefined || gap < leastGap
      ? ''
      : `, and gapes by ${shownQuantity(gap, 'mm')}`;
  const bent =
    miss.beyond === undefined || bend === undefined || apart !== ''
      ? ''
      : `, and its curvature by ${shownQuantity(bend, 'ratio')} of itself`;
  const shift = miss.site.kind === 'seam' ? miss.evidence?.['shift'] : undefined;
  const shifted =
    shift === undefined ? '' : `, which shifts highlights by up to ${shownQuantity(shift, 'mm')}`;
  const thickness = miss.evidence?.['thickness'];
  const inner =
    thickness === undefined
      ? ''
      : `: a radius of ${shownQuantity(miss.evidence!['radius'], 'mm')} less the thickness of ${shownLimit(thickness, 'mm')}`;
  const margin =
    finding.beyond < 1 ? ', within its limit, but in the margin that is to be kept free' : '';
  const build = miss.lighter ? `: ${heldText(miss.lighter.build)}` : '';
  return `${finding.certainty === 'uncertain' ? 'probably ' : ''}${text}${where}${apart}${bent}${shifted}${inner}${margin}${build}`;
}

/** What to do about a finding. */
export const remedyText = (finding: Finding, data: RuleData): string =>
  filled(data.remedy, gaps(finding));
