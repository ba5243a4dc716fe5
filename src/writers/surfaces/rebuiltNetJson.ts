import { findNodeAtLocation, parseTree } from 'jsonc-parser';
import type { ControlNet } from '../../geometry/controlNet.ts';
import type { Refusal } from './netChange.ts';
import { netTexts } from './netJsonFile.ts';
import { ownNumber } from './ownNumber.ts';
import { netsByRecord, type RebuiltFile, type Rebuilding } from './rebuilt.ts';

/**
 * A `*.net.json` file with some nets built anew: the values of `degree`, `knots`, `rows` and `weights` are
 * replaced, all other text stays.
 */
export function rebuiltNetJson(bytes: Uint8Array, { nets }: Rebuilding): RebuiltFile {
  const text = Buffer.from(bytes).toString('utf8');
  // A byte-order mark is no part of the JSON text.
  const start = text.startsWith('\ufeff') ? 1 : 0;
  const tree = parseTree(text.slice(start));
  const edits: { readonly from: number; readonly to: number; readonly text: string }[] = [];
  const refused: Refusal[] = [];
  function rebuild(record: string, net: ControlNet, millimetres: number): boolean {
    const path = record
      .split('/')
      .slice(1)
      .map((key) => (/^\d+$/.test(key) ? Number(key) : key));
    const texts = netTexts(net, (mm) => ownNumber(mm, millimetres));
    const found = Object.entries(texts).map(([key, value]) => ({
      value,
      node: tree && findNodeAtLocation(tree, [...path, key]),
      // weights may be left out where there are none
      spare: key === 'weights' && net.weights === null,
    }));
    if (found.some(({ node, spare }) => !node && !spare)) return false;
    for (const { node, value } of found)
      if (node)
        edits.push({
          from: start + node.offset,
          to: start + node.offset + node.length,
          text: value,
        });
    return true;
  }
  for (const [record, { panel, net }] of netsByRecord(nets))
    if (!rebuild(record, net, panel.unit.millimetres))
      refused.push({ panel: panel.name, why: 'missing' });
  let edited = '';
  let at = 0;
  for (const edit of edits.sort((a, b) => a.from - b.from)) {
    edited += text.slice(at, edit.from) + edit.text;
    at = edit.to;
  }
  return { bytes: Buffer.from(edited + text.slice(at), 'utf8'), refused };
}
