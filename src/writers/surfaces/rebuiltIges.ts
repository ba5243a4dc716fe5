import type { Entity } from '../../intake/iges/igesDirectory.ts';
import { igesNet } from '../../intake/iges/igesNet.ts';
import { igesStructure } from '../../intake/iges/igesStructure.ts';
import { rationalSurface } from '../../intake/iges/igesUnjudged.ts';
import { curveFields, surfaceFields } from './igesFile.ts';
import { filled, igesParts, withRecords, type NewRecord } from './igesParts.ts';
import type { NetChange, Refusal } from './netChange.ts';
import { ownNumber } from './ownNumber.ts';
import {
  netsByRecord,
  unplacedNet,
  type CurveChange,
  type RebuiltFile,
  type Rebuilding,
} from './rebuilt.ts';

/** Parameters that end a surface (its ranges), and a curve (its range and the normal of its plane). */
const rangeFields = 4;
const curveEndFields = 5;

/**
 * An IGES file with surfaces (128) and curves (126) built anew in their place. What follows their own
 * parameters, and all other bytes but the numbering, stay.
 */
export function rebuiltIges(bytes: Uint8Array, { nets, curves }: Rebuilding): RebuiltFile {
  const parts = igesParts(bytes);
  const structure = igesStructure(parts.directory, parts.source);
  const { parameter, record } = parts.delimiters;
  const [separator, end] = [parameter, record].map((c) => String.fromCharCode(c));
  const records = new Map<number, NewRecord>();
  const refused: Refusal[] = [];

  /** Puts fields in place of the first `replaced` parameters behind the type; those behind stay as they are. */
  function replace(
    entity: Entity,
    [from, to]: readonly [number, number],
    fields: readonly string[],
    replaced: number,
  ): void {
    const tokens = parts.tokensOf([from, to]);
    const rest = tokens.slice(1 + replaced).map(({ text }) => text);
    // a record may leave its last parameters to their defaults
    const isEnd = tokens[replaced]?.text.endsWith(end) ?? true;
    const own = [String(entity.type), ...fields].map(
      (field, k) => field + (k === fields.length && (isEnd || rest.length === 0) ? end : separator),
    );
    const lines = filled([...own, ...rest]);
    records.set(from, { entity, lines });
    for (let k = from + 1; k < to; k++) records.set(k, { entity, lines: [] });
  }

  function rebuild(name: string, { panel, net }: NetChange): Refusal['why'] | null {
    const entity = parts.entityOf(name);
    if (!entity) return 'missing';
    if (entity.type !== rationalSurface) return 'kind';
    const range = parts.ownRecords(entity);
    const before = igesNet(entity, parts.directory, parts.source);
    const standings = structure.standingsOf(entity);
    if (range === 'missing' || 'code' in before || 'code' in standings) return 'missing';
    if (range === 'shared') return 'shared';
    const places = new Set(standings.map(({ placement }) => placement));
    const [placement] = places;
    if (places.size !== 1) return 'places';
    const { millimetres } = panel.unit;
    const own = unplacedNet(net, placement, millimetres, 'placement-first');
    if (!own) return 'missing';
    const fields = surfaceFields(own, (mm) => ownNumber(mm, millimetres)).slice(0, -rangeFields);
    const { knots, points } = before.net;
    replace(entity, range, fields, 9 + knots[0].length + knots[1].length + (4 * points.length) / 3);
    return null;
  }

  function rebuildCurve({ free, curve }: CurveChange): void {
    const entity = parts.entityOf(free.place.record ?? '');
    const range = entity ? parts.ownRecords(entity) : 'missing';
    if (!entity || typeof range === 'string') return;
    const fields = curveFields(curve, (mm) => ownNumber(mm, free.unit.millimetres));
    // K, M: the curve that was read may be a part of the one that stands there
    const [, last, degree] = parts.tokensOf(range).map(({ text }) => Number.parseFloat(text));
    const replaced = 6 + (last + degree + 2) + 4 * (last + 1);
    replace(entity, range, fields, replaced + curveEndFields);
  }

  for (const [name, change] of netsByRecord(nets)) {
    const why = rebuild(name, change);
    if (why) refused.push({ panel: change.panel.name, why });
  }
  for (const change of curves) rebuildCurve(change);
  return { bytes: withRecords(parts, records), refused };
}
