import type { OtherContent } from '../otherContents.ts';

/** The notes of a file that was read without a fault, and of its panels. */
export function netNotes(bytes: Uint8Array): OtherContent[] {
  let content: { note?: unknown; panels?: readonly { note?: unknown }[] };
  try {
    content = JSON.parse(
      Buffer.from(bytes)
        .toString('utf8')
        .replace(/^\ufeff/, ''),
    );
  } catch {
    return [];
  }
  const holders = [content, ...(Array.isArray(content.panels) ? content.panels : [])];
  const count = holders.filter((holder) => holder?.note !== undefined).length;
  return count > 0 ? [{ kind: 'net JSON', label: 'note', count }] : [];
}
