import type { Fault, Notice } from '../intake/fault.ts';
import type { Format } from '../intake/format.ts';
import type { BuildPrice } from '../measure/lighterBuilds.ts';
import { curvePriceText, heldText, priceText } from './buildText.ts';
import { faultSentence, formatName, noticeSentence, shownPlace } from './faultSentences.ts';
import { counted, printable, shownQuantity } from './shown.ts';
import type { Refusal } from './surfaces/netChange.ts';
import { wrapped } from './wrapped.ts';

/** A panel or a free curve, and the lighter build it is given. */
export interface LightenedThing {
  readonly name: string;
  /** As it is, then what each lighter build costs. */
  readonly prices: readonly BuildPrice[];
  /** Null: left as it is. */
  readonly build: BuildPrice | null;
  /** mm within which the borders of a trimmed panel hang together; null where it has none. */
  readonly tolerance: number | null;
}

/** What became of one file that was to be built more lightly. */
export interface Lightened {
  readonly file: string;
  readonly format: Format | null;
  /** Whether files of the format are written. */
  readonly isWritten: boolean;
  /** mm. */
  readonly within: number;
  /** Whether degrees of five or less might go down for it. */
  readonly lowerDegree: boolean;
  /** Null where nothing in it is other than it was. */
  readonly bytes: Uint8Array | null;
  readonly panels: readonly LightenedThing[];
  readonly curves: readonly LightenedThing[];
  readonly refused: readonly Refusal[];
  readonly faults: readonly Fault[];
  readonly notices: readonly Notice[];
}

const reasons: Readonly<Record<Refusal['why'], string>> = {
  build: 'it has another build',
  missing: 'the file does not hold it where it was read',
  places: 'it stands in several places, which would all change',
  shared: 'another entity has the same records',
  'two-nets': 'two panels that share its net were given unlike ones',
  kind: 'the file holds it as another kind of surface; convert the file first',
};

/** What became of a panel or a curve. */
function thingText(
  { name, prices, build }: LightenedThing,
  said: (prices: readonly BuildPrice[]) => string,
  isCurve: boolean,
): string {
  const costs = prices.length > 1 ? said(prices) : 'No lighter build comes near it.';
  const done = build ? heldText(build, isCurve) : 'left as it is';
  return `${printable(name)}: ${done}. ${costs}`;
}

function doneText(lightened: Lightened, output: string): string {
  const { file, format, isWritten, within, lowerDegree } = lightened;
  const { bytes, panels, curves, refused } = lightened;
  const from = printable(file);
  if (panels.length + curves.length === 0)
    return `${from}: nothing to lighten, no panel could be read.`;
  const lighter = (things: readonly LightenedThing[]): number =>
    things.filter(({ build }) => build !== null).length;
  const count = lighter(panels) - refused.length;
  const of =
    curves.length > 0 ? ` and ${lighter(curves)} of ${counted(curves.length, 'free curve')}` : '';
  if (bytes)
    return (
      `${from}: ${count} of ${counted(panels.length, 'panel')}${of} lighter within ${shownQuantity(within, 'mm')}, ` +
      `written to ${printable(output)}. All else is as it was, byte for byte.`
    );
  if (!isWritten && format && lighter(panels) > 0)
    return `${from}: ${formatName(format)} is read and not written. Convert it first: "hullsight convert FILE --to igs".`;
  const how = lowerDegree ? '' : ' at its degree';
  return `${from}: nothing in it holds its shape within ${shownQuantity(within, 'mm')} from fewer points${how}; no file is written.`;
}

/** Panels whose trim hangs together more closely than the new surface lies to the old. */
const looser = ({ build, tolerance }: LightenedThing): boolean =>
  build !== null && tolerance !== null && build.deviation > tolerance;

/** What was built more lightly and what that costs, what could not be, and what could not be read. */
export function lightenedText(lightened: Lightened, output: string, width: number): string {
  const { file, bytes, panels, curves, refused, notices, faults } = lightened;
  const section = (title: string, texts: readonly string[]): string[] =>
    texts.length > 0
      ? ['', title, ...texts.flatMap((text) => wrapped(text, '  ', '    ', width))]
      : [];
  const at = ({ place }: Fault | Notice): string => `${printable(file)}${shownPlace(place)}`;
  const off = bytes ? panels.filter(looser).map(({ name }) => printable(name)) : [];
  const told = [
    ...(bytes && panels.some(({ build }) => build !== null)
      ? ['Borders have moved by up to what is told of each panel: look at the joins again.']
      : []),
    ...(off.length > 0
      ? [
          `Trims given by curves in space lie farther off the new surface than they did, by up to that much: ${off.join(', ')}.`,
        ]
      : []),
    ...refused.map(({ panel, why }) => `${printable(panel)} is left as it is: ${reasons[why]}.`),
    ...notices.map((notice) => `${at(notice)}: ${noticeSentence(notice)}`),
  ];
  const broken = faults.map((fault) => `${at(fault)}: ${faultSentence(fault)} [${fault.code}]`);
  const lines = [
    ...wrapped(doneText(lightened, output), '', '  ', width),
    ...section(
      'Panels',
      panels.map((panel) => thingText(panel, priceText, false)),
    ),
    ...section(
      'Free curves',
      curves.map((curve) => thingText(curve, curvePriceText, true)),
    ),
    ...section('To know', told),
    ...section('Not read', broken),
  ];
  return `${lines.join('\n')}\n`;
}
