import type { Fault, Notice } from '../intake/fault.ts';
import type { Format } from '../intake/format.ts';
import type { LengthUnit } from '../intake/lengthUnit.ts';
import type { OtherContent } from '../intake/otherContents.ts';
import type { Panel, Unjudged } from '../intake/panel.ts';
import { faultSentence, formatName, noticeSentence, shownPlace } from './faultSentences.ts';
import { counted, printable, shownQuantity } from './shown.ts';
import type { Remarks } from './surfaces/surfaceFile.ts';
import { wrapped } from './wrapped.ts';

/** What became of one file that was to be written in another format. */
export interface Conversion {
  /** The file that was read. */
  readonly file: string;
  readonly to: Format;
  /** Bytes of the file to write; null where no panel could be read. */
  readonly bytes: Uint8Array | null;
  /** True where the file is in the format asked for already and goes on as it is. */
  readonly isCopy: boolean;
  readonly panels: readonly Panel[];
  /** The unit of the numbers written, and those of the panels that are in others. */
  readonly unit: LengthUnit;
  readonly otherUnits: readonly string[];
  readonly remarks: Remarks;
  readonly unjudged: readonly Unjudged[];
  readonly others: readonly OtherContent[];
  readonly faults: readonly Fault[];
  readonly notices: readonly Notice[];
}

const mostNames = 12;
const listed = (names: readonly string[]): string =>
  names.length > mostNames
    ? `${names.slice(0, mostNames).join(', ')} and ${names.length - mostNames} more`
    : names.join(', ');

/** What was done, in one sentence. */
function doneText(conversion: Conversion, output: string): string {
  const { file, to, bytes, isCopy, panels, unit } = conversion;
  const from = printable(file);
  if (!bytes) return `${from}: nothing to write, no panel could be read.`;
  const into = printable(output);
  if (isCopy) return `${from} is ${formatName(to)} already: ${into} is the same, byte for byte.`;
  return (
    `${from}: ${counted(panels.length, 'panel')} written to ${into} (${formatName(to)}, unit ${unit.name}): ` +
    `${listed(panels.map(({ name }) => printable(name)))}.`
  );
}

/** What is other than it was. */
function changeTexts({ to, panels, unit, otherUnits, remarks }: Conversion): string[] {
  const { parted, oddNames, departure } = remarks;
  const unread = panels.filter(({ trim }) => trim.kind === 'unread');
  const names = (some: readonly Panel[]): string => listed(some.map(({ name }) => printable(name)));
  return [
    ...(otherUnits.length > 0
      ? [`Numbers that were in ${otherUnits.map(printable).join(', ')} are in ${unit.name} now.`]
      : []),
    ...(unread.length > 0
      ? [
          `Trims that could not be read are left out, the whole surface is written: ${names(unread)}.`,
        ]
      : []),
    ...(parted.length > 0
      ? [`The trim leaves several pieces, each a face by itself: ${listed(parted.map(printable))}.`]
      : []),
    ...(departure > 0
      ? [
          `Borders in space lie within ${shownQuantity(departure, 'mm')} of those in the parameter plane, which are exact and preferred.`,
        ]
      : []),
    ...(oddNames > 0
      ? [
          `${counted(oddNames, 'name')} with letters outside ASCII: written as UTF-8, for which ${formatName(to)} has no rule.`,
        ]
      : []),
  ];
}

const leftOut = ({ kind, label, count }: OtherContent): string =>
  `Left out: ${count} of ${kind} (${label}).`;

/** What was written, what is other than it was or left out, and what could not be read. */
export function conversionText(conversion: Conversion, output: string, width: number): string {
  const { file, bytes, isCopy, unjudged, others, notices, faults } = conversion;
  const section = (title: string, texts: readonly string[]): string[] =>
    texts.length > 0
      ? ['', title, ...texts.flatMap((text) => wrapped(text, '  ', '    ', width))]
      : [];
  const at = ({ place }: Fault | Notice): string => `${printable(file)}${shownPlace(place)}`;
  const isNew = bytes !== null && !isCopy;
  const told = [
    ...(isNew ? changeTexts(conversion) : []),
    ...(isCopy ? [] : [...unjudged, ...others].map(leftOut)),
    ...notices.map((notice) => `${at(notice)}: ${noticeSentence(notice)}`),
  ];
  const broken = faults.map((fault) => `${at(fault)}: ${faultSentence(fault)} [${fault.code}]`);
  const lines = [
    ...wrapped(doneText(conversion, output), '', '  ', width),
    ...section('To know', told),
    ...section('Not read', broken),
  ];
  return `${lines.join('\n')}\n`;
}
