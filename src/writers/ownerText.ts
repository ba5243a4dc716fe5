import type { WobbleDoubt } from '../measure/wobbleShare.ts';
import type { Decision } from '../verdict/decisions.ts';
import type { Finding } from '../verdict/finding.ts';
import type { Verdict } from '../verdict/verdict.ts';
import { printable, shownNumber, shownQuantity } from './shown.ts';
import type { Layout } from './textVerdict.ts';
import { wrapped } from './wrapped.ts';

const doubts: Readonly<Record<WobbleDoubt, string>> = {
  coverage: 'too little of the scan, or of the panel, lies around it',
  small: 'the surface has no wobble of that width there to speak of',
  design: "the panel's own shape outweighs it",
  windows: 'a wider and a narrower look do not agree',
  noise: "the scan's noise, or how unevenly the panel follows it, hides it",
  shared: 'both have a part in it',
};

const shareText = (share: number, error: number): string =>
  `${shownNumber(share, 'ratio')} of it, give or take ${shownNumber(2 * error, 'ratio')}`;

/** Whose the wobble behind a finding is. */
export function ownerText({ owner }: Finding): string | null {
  if (!owner) return null;
  const { cause, share, shareError, confidence, doubt } = owner;
  const sure = confidence === null ? '' : `, ${Math.floor(100 * confidence)} % sure`;
  switch (cause) {
    case 'model':
      return `The scan does not have it (${shareText(share, shareError)}${sure}): it is the model's.`;
    case 'scan':
      return `The scan has it too (${shareText(share, shareError)}${sure}): the designer decides, and it does not block.`;
    case 'unknown':
      return doubt === null ? null : `Whose it is nobody can tell from the scan: ${doubts[doubt]}.`;
  }
}

/** As many decisions as a person reads; the JSON verdict has all. */
const mostDecisions = 12;

function decisionText({ panel, position, surface, lengths, findings, share }: Decision): string {
  const widths = lengths.map((length) => (length === null ? 'through' : length.toFixed(0)));
  const size = `${shownQuantity(Math.abs(surface), 'mm')} high, ${widths.join(' by ')} mm wide`;
  const place = position.map((x) => x.toFixed(0)).join(', ');
  return `${printable(panel)}, near (${place}) mm: ${size}; the scan has ${shownNumber(share, 'ratio')} of it. ${findings.length > 1 ? 'Findings' : 'Finding'} ${findings.join(', ')}.`;
}

/** What the scan has as well: a list for the designer. */
export function decisionLines({ decisions }: Verdict, layout: Layout): string[] {
  if (decisions.length === 0) return [];
  const shown = decisions.slice(0, mostDecisions);
  const more = decisions.length - shown.length;
  return [
    'For the designer to decide: the scan has these wobbles as well',
    ...shown.flatMap((decision) => wrapped(decisionText(decision), '  ', '    ', layout.width)),
    ...(more > 0 ? [`  and ${more} more (in the JSON verdict)`] : []),
    '',
  ];
}
