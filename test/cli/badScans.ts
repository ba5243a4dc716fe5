import { clay } from '../../fixtures/clay.ts';
import { binaryStl, textPly, textStl } from '../../fixtures/meshFiles.ts';
import type { BadFile } from './badFiles.ts';

const body = clay(4);
const stl = textStl(body).toString();
const ply = textPly(body).toString();

const row = (
  given: string,
  name: string,
  code: BadFile['code'],
  content: string | Buffer,
): BadFile => ({
  given,
  name,
  bytes: Buffer.from(content),
  code,
});

/** Scans that are wrong, each with the fault that says so. */
export const badScans: readonly BadFile[] = [
  row('no bytes', 'clay.stl', 'file-empty', ''),
  row('a letter', 'clay.stl', 'stl-form', 'Dear modeller,\n'),
  row('a letter', 'clay.ply', 'ply-header', 'Dear modeller,\n'),
  row('PLY in a file named .stl', 'clay.stl', 'wrong-extension', ply),
  row('no facet', 'clay.stl', 'mesh-empty', 'solid clay\nendsolid clay\n'),
  row('cut short', 'clay.stl', 'mesh-truncated', stl.slice(0, -200)),
  row('cut short', 'clay.stl', 'mesh-truncated', binaryStl(body).subarray(0, -20)),
  row('a facet of two corners', 'clay.stl', 'mesh-row', stl.replace(/vertex .*\n/, '')),
  row('a word for a number', 'clay.stl', 'bad-number', stl.replace(/vertex \S+/, 'vertex one')),
  row('a corner beyond the vertices', 'clay.ply', 'mesh-index', ply.replace(/\n3 \d+/, '\n3 99')),
  row('a header without end', 'clay.ply', 'ply-header', ply.replace('end_header', '')),
  row('a line of 20 MB', 'clay.ply', 'line-too-long', `${ply}${'0'.repeat(20e6)}`),
  row(
    'a face of 5001 corners',
    'clay.ply',
    'mesh-face',
    ply.replace('face 48', 'face 49') +
      `5001 ${Array.from({ length: 5000 }, (_, k) => (k * k) % 26).join(' ')} 1\n`,
  ),
  row('binary rubbish', 'clay.ply', 'ply-header', Buffer.alloc(500, 7)),
];
