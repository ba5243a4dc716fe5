import type { Source } from './audit.ts';
import { recognisedFormat, type Format } from './intake/format.ts';
import { millimetre, type LengthUnit } from './intake/lengthUnit.ts';
import { otherContents } from './intake/otherContents.ts';
import type { Panel } from './intake/panel.ts';
import { readSurfaces, unreadIntake } from './intake/readSurfaces.ts';
import type { Conversion } from './writers/conversionText.ts';
import type { WrittenFormat } from './writers/surfaces/changedFile.ts';
import { igesFile } from './writers/surfaces/igesFile.ts';
import { netJsonFile } from './writers/surfaces/netJsonFile.ts';
import { stepFile } from './writers/surfaces/stepFile.ts';
import { Remarks, type SurfaceFile, type WrittenSurfaces } from './writers/surfaces/surfaceFile.ts';

const writers: Readonly<Record<WrittenFormat, (file: SurfaceFile) => WrittenSurfaces>> = {
  iges: igesFile,
  step: stepFile,
  'net-json': netJsonFile,
};

/** The one unit of all panels; millimetres, which nothing is lost in, where they differ. */
const agreedUnit = (panels: readonly Panel[]): LengthUnit =>
  panels.every(({ unit }) => unit.millimetres === panels[0].unit.millimetres)
    ? (panels[0]?.unit ?? millimetre)
    : millimetre;

/** A file of surfaces, or why there are no bytes of it. A scan has no surface to write. */
type SurfaceSource = Exclude<Source, { readonly scan: unknown }>;

/** What the bytes of a file are, where that can be told. */
function formatOf(source: SurfaceSource): Format | null {
  if ('fault' in source) return null;
  const format = recognisedFormat(source.name, source.bytes);
  return typeof format === 'string' ? format : null;
}

/**
 * One file in another format: bytes -> panels -> bytes, with what is other than it was or left out. A
 * file that is in the format already goes on as it is. What could be read is written, whatever is
 * faulty besides.
 */
export function convertedFile(
  source: SurfaceSource,
  to: WrittenFormat,
  header: Pick<SurfaceFile, 'name' | 'tool' | 'at'>,
): Conversion {
  const format = formatOf(source);
  const intake =
    'fault' in source ? unreadIntake(source.fault) : readSurfaces(source.name, source.bytes);
  const { panels, unjudged, faults, notices } = intake;
  const read = { file: source.name, to, panels, unjudged, faults, notices };
  if ('fault' in source || format === null || panels.length === 0 || format === to) {
    const isCopy = 'bytes' in source && format === to && panels.length > 0;
    return {
      ...read,
      bytes: isCopy ? source.bytes : null,
      isCopy,
      unit: intake.unit,
      otherUnits: [],
      remarks: new Remarks(),
      others: [],
    };
  }
  const { bytes, unit, remarks } = writers[to]({ ...header, panels, unit: agreedUnit(panels) });
  const units = new Set(panels.map((panel) => panel.unit.name));
  return {
    ...read,
    bytes,
    isCopy: false,
    unit,
    otherUnits: [...units].filter((name) => name !== unit.name),
    remarks,
    others: otherContents(format, source.bytes),
  };
}
