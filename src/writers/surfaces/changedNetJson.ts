import { visit } from 'jsonc-parser';
import { inPlace } from '../../geometry/placement.ts';
import { jsonNumber } from './netJsonFile.ts';
import {
  changesByRecord,
  movedCoordinates,
  type ChangedFile,
  type NetChange,
} from './netChange.ts';

/** Where a number stands in a text. */
interface Stretch {
  readonly start: number;
  readonly end: number;
}

/**
 * A `*.net.json` file with the points of some nets changed: only the numbers of `rows` that differ are
 * replaced. They read back to the last bit, or as `ownNumber` says where the unit is no millimetre.
 */
export function changedNetJson(bytes: Uint8Array, changes: readonly NetChange[]): ChangedFile {
  const { byRecord, refused } = changesByRecord(changes);
  if (refused.length > 0) return refused;
  const wanted = new Map<string, number>();
  for (const [record, change] of byRecord)
    for (const { row, column, axis, value } of movedCoordinates(change, inPlace, 'unit-first'))
      wanted.set(`${record}/rows/${row}/${column}/${axis}`, value);
  if (wanted.size === 0) return bytes;
  const text = Buffer.from(bytes).toString('utf8');
  // A byte-order mark is no part of the JSON text.
  const start = text.startsWith('\ufeff') ? 1 : 0;
  const stretches = new Map<string, Stretch>();
  visit(text.slice(start), {
    onLiteralValue: (value, offset, length, _line, _character, path) => {
      if (typeof value !== 'number') return;
      const pointer = path()
        .map((key) => `/${key}`)
        .join('');
      if (wanted.has(pointer))
        stretches.set(pointer, { start: start + offset, end: start + offset + length });
    },
  });
  const missing = [...wanted.keys()].find((pointer) => !stretches.has(pointer));
  if (missing !== undefined)
    return [...byRecord.values()].map(({ panel }) => ({ panel: panel.name, why: 'missing' }));
  let edited = '';
  let at = 0;
  for (const [pointer, stretch] of [...stretches].sort(([, a], [, b]) => a.start - b.start)) {
    edited += text.slice(at, stretch.start) + jsonNumber(wanted.get(pointer)!);
    at = stretch.end;
  }
  return Buffer.from(edited + text.slice(at), 'utf8');
}
