import { closeSync, openSync, writeSync } from 'node:fs';

const facetBytes = 50;
const facetsAtOnce = 20_000;

/**
 * Writes a closed, wavy ring in the binary form of STL, piece by piece: `around` times `across`
 * quadrilaterals cut in two, so that half as many vertices as facets are there. Gives the facets.
 */
export function largeStl(path: string, around: number, across: number): number {
  const facets = 2 * around * across;
  const file = openSync(path, 'w');
  const head = Buffer.alloc(84);
  head.writeUInt32LE(facets, 80);
  writeSync(file, head);
  const block = Buffer.alloc(facetBytes * facetsAtOnce);
  let at = 0;
  const put = (i: number, j: number, corner: number): void => {
    const [turn, lean] = [
      (2 * Math.PI * (i % around)) / around,
      (2 * Math.PI * (j % across)) / across,
    ];
    const radius = 900 + (200 + 4 * Math.sin(9 * turn)) * Math.cos(lean);
    const place = at + 12 + 12 * corner;
    block.writeFloatLE(radius * Math.cos(turn), place);
    block.writeFloatLE(radius * Math.sin(turn), place + 4);
    block.writeFloatLE(200 * Math.sin(lean), place + 8);
  };
  const add = (corners: readonly (readonly [number, number])[]): void => {
    corners.forEach(([i, j], corner) => put(i, j, corner));
    at += facetBytes;
    if (at < block.length) return;
    writeSync(file, block);
    at = 0;
  };
  for (let i = 0; i < around; i++)
    for (let j = 0; j < across; j++) {
      add([[i, j], [i + 1, j], [i + 1, j + 1]]); // prettier-ignore
      add([[i, j], [i + 1, j + 1], [i, j + 1]]); // prettier-ignore
    }
  writeSync(file, block, 0, at);
  closeSync(file);
  return facets;
}
