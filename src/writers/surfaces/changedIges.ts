import { igesNet } from '../../intake/iges/igesNet.ts';
import { igesStructure } from '../../intake/iges/igesStructure.ts';
import { rationalSurface } from '../../intake/iges/igesUnjudged.ts';
import { filled, igesParts, withRecords, type NewRecord, type Token } from './igesParts.ts';
import { igesReal } from './igesRecords.ts';
import {
  changesByRecord,
  movedCoordinates,
  type ChangedFile,
  type MovedCoordinate,
  type NetChange,
  type Refusal,
} from './netChange.ts';

/** The data of the records that are other than they were, by position: a record may become several. */
function newRecords(tokens: readonly Token[], changed: ReadonlySet<number>): Map<number, string[]> {
  const touched = new Set([...changed].map((k) => tokens[k].record));
  for (const { record, runsOver } of tokens)
    if (runsOver && touched.has(record)) touched.add(record + 1);
  const texts = new Map<number, string[]>([...touched].map((record) => [record, []]));
  for (const { record, text } of tokens) texts.get(record)?.push(text);
  return new Map([...texts].map(([record, own]) => [record, filled(own)]));
}

/**
 * An IGES file with the points of some surfaces (128) changed. A record keeps its place where the new
 * numbers fit its 64 columns; where they do not it becomes two or more, and the parameter section, the
 * pointers and counts of the directory, and the terminate record are numbered anew behind it. All other
 * bytes stay.
 */
export function changedIges(bytes: Uint8Array, changes: readonly NetChange[]): ChangedFile {
  const { byRecord, refused: early } = changesByRecord(changes);
  if (early.length > 0) return early;
  if (byRecord.size === 0) return bytes;
  const parts = igesParts(bytes);
  const structure = igesStructure(parts.directory, parts.source);
  const refused: Refusal[] = [];
  const records = new Map<number, NewRecord>();

  /** Why a net cannot be changed; else null, and its new records stand in `records`. */
  function change(record: string, wanted: NetChange): Refusal['why'] | null {
    const entity = parts.entityOf(record);
    if (!entity) return 'missing';
    if (entity.type !== rationalSurface) return 'kind';
    const range = parts.ownRecords(entity);
    const net = igesNet(entity, parts.directory, parts.source);
    const standings = structure.standingsOf(entity);
    if (range === 'missing' || 'code' in net || 'code' in standings) return 'missing';
    if (range === 'shared') return 'shared';
    const places = new Set(standings.map(({ placement }) => placement));
    const [placement] = places;
    if (places.size !== 1) return 'places';
    const moved: readonly MovedCoordinate[] = movedCoordinates(
      wanted,
      placement,
      'placement-first',
    );
    const { knots, points } = net.net;
    if (
      points.length !== wanted.net.points.length ||
      moved.some(({ value }) => !Number.isFinite(value))
    )
      return 'missing';
    // the type, nine numbers, knots, and a weight a point stand before the points
    const first = 10 + knots[0].length + knots[1].length + points.length / 3;
    const tokens = parts.tokensOf(range);
    const changed = new Set<number>();
    for (const { row, column, axis, value } of moved) {
      const k = first + 3 * (row * wanted.net.columns + column) + axis;
      const token = tokens[k];
      if (!token) return 'missing';
      token.text = igesReal(value) + token.text.slice(-1);
      changed.add(k);
    }
    for (const [position, lines] of newRecords(tokens, changed))
      records.set(position, { entity, lines });
    return null;
  }

  for (const [record, wanted] of byRecord) {
    const why = change(record, wanted);
    if (why) refused.push({ panel: wanted.panel.name, why });
  }
  return refused.length > 0 ? refused : withRecords(parts, records);
}
