import type { Figure } from './figure.ts';

const digits = (value: number): string => value.toPrecision(3);
const rateText = ({ rate }: Figure['ours']): string =>
  rate ? `${Number(digits(rate.perSecond))} ${rate.unit}` : '';

/** A figure for a person, on three lines. */
export function figureText({ name, ratio, times, byRound, aim, ours, base }: Figure): string {
  const sides = [ours, base].map((side) =>
    [side.name, `${side.taken.median.toFixed(1)} ms`, rateText(side)].filter(Boolean).join(' '),
  );
  return [
    name,
    `  ${digits(ratio)} times ${times}${aim ? ` (aim: ${aim})` : ''}; by round ${digits(byRound.least)} to ${digits(byRound.greatest)}, ${byRound.runs} rounds`,
    `  ${sides.join(' | ')}`,
  ].join('\n');
}

const gigabytes = (bytes: number): string => `${(bytes / 1e9).toFixed(2)} GB`;

/** What a process took at most, against something's size. */
interface Peak {
  readonly name: string;
  readonly ratio: number;
  readonly aim: string;
  readonly peakBytes: number;
  readonly milliseconds: number;
}

/** A peak of memory for a person, on two lines. */
export const peakText = (
  { name, ratio, aim, peakBytes, milliseconds }: Peak,
  size: number,
): string =>
  `${name}\n  ${digits(ratio)} times its size (aim: ${aim}), ${gigabytes(peakBytes)} of ${gigabytes(size)}, in ${(milliseconds / 1000).toFixed(1)} s`;
