import { fault, type Fault } from './fault.ts';

/** The formats read, with the endings their files carry. */
export const endings = {
  iges: ['.igs', '.iges'],
  step: ['.stp', '.step', '.p21'],
  'vda-fs': ['.vda', '.vdafs'],
  obj: ['.obj'],
  'net-json': ['.net.json'],
} as const;
export type Format = keyof typeof endings;

const formats = Object.keys(endings) as Format[];

/** Format by the end of the file's name, in either case; null where the ending is not ours. */
export const formatByName = (name: string): Format | null =>
  formats.find((format) => endings[format].some((end) => name.toLowerCase().endsWith(end))) ?? null;

/** Whether the bytes begin with a byte-order mark of UTF-16, or alternate with zeros as it does. */
function isUtf16(bytes: Uint8Array): boolean {
  if (bytes.length < 2) return false;
  const mark = (bytes[0] << 8) | bytes[1];
  if (mark === 0xfeff || mark === 0xfffe) return true;
  const head = bytes.subarray(0, 64);
  const zeros = [0, 1].map((odd) => head.filter((c, i) => i % 2 === odd && c === 0).length);
  return head.length >= 8 && Math.max(...zeros) >= head.length / 2 - 1 && Math.min(...zeros) === 0;
}

/** Format by what the content looks like; null where it looks like none of ours. */
export function formatByContent(bytes: Uint8Array): Format | null {
  const head = Buffer.from(bytes.subarray(0, 4096)).toString('latin1');
  const start = head.replace(/^\u00ef\u00bb\u00bf/, '').trimStart();
  if (/^(\/\*[\s\S]*?\*\/\s*)*ISO-10303-21\s*;/.test(start)) return 'step';
  if (start.startsWith('{') || start.startsWith('[')) return 'net-json';
  // remarks ($$) may stand before the header of DIN 66301
  if (/^(\$\$[^\r\n]*[\r\n]+\s*)*[a-z][^\s=/,]*\s*=\s*HEADER\s*\/\s*\d/i.test(start))
    return 'vda-fs';
  const firstLine = head.split(/\r\n|\r|\n/, 1)[0];
  if (/^.{72}[SCB]\s*\d+\s*$/.test(firstLine)) return 'iges';
  return null;
}

/**
 * The format to read a file as, or why it is not read. The ending decides what is meant and the
 * content what is there; where both are known and differ the file is not judged, since one of the
 * two is a mistake that a person must settle.
 */
export function recognisedFormat(name: string, bytes: Uint8Array): Format | Fault {
  if (bytes.length === 0) return fault('file-empty', {});
  if (isUtf16(bytes)) return fault('text-encoding', { byte: 0 }, { expected: 'ASCII or UTF-8' });
  const meant = formatByName(name);
  const found = formatByContent(bytes);
  if (meant && found && meant !== found) return fault('wrong-extension', {}, { meant, found });
  if (meant) {
    const zero = bytes.subarray(0, 4096).indexOf(0);
    return zero >= 0 && !found ? fault('binary-content', { byte: zero }, { meant }) : meant;
  }
  return found
    ? fault('wrong-extension', {}, { meant: 'no known format', found })
    : fault('unknown-format', {});
}
