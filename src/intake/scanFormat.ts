import { shownStlForm } from './stl/stlForm.ts';

/** The formats a scan is read from, with the endings their files carry. */
export const scanEndings = { stl: ['.stl'], ply: ['.ply'], obj: ['.obj'] } as const;
export type ScanFormat = keyof typeof scanEndings;

const formats = Object.keys(scanEndings) as ScanFormat[];

/** Format of a scan by the end of the file's name, in either case; null where the ending is none of these. */
export const scanFormatByName = (name: string): ScanFormat | null =>
  formats.find((format) => scanEndings[format].some((end) => name.toLowerCase().endsWith(end))) ??
  null;

/**
 * Format of a scan by what the first bytes of a file of `size` bytes look like; null where they look
 * like none of these.
 */
export function scanFormatByContent(head: Uint8Array, size: number): ScanFormat | null {
  const text = Buffer.from(head.subarray(0, 4096))
    .toString('latin1')
    .replace(/^\u00ef\u00bb\u00bf/, '');
  if (/^ply\s*[\r\n]/.test(text)) return 'ply';
  if (shownStlForm(head, size) !== null) return 'stl';
  const isText = !text.includes('\0');
  return isText && /(^|[\r\n])[ \t]*v[ \t]+[-+.\d]/.test(text) ? 'obj' : null;
}
