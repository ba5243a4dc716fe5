import { closeSync, openSync, readFileSync, readSync, statSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { OBJLoader } from 'three/examples/jsm/loaders/OBJLoader.js';
import { PLYLoader } from 'three/examples/jsm/loaders/PLYLoader.js';
import { STLLoader } from 'three/examples/jsm/loaders/STLLoader.js';
import { clay } from '../../fixtures/clay.ts';
import { binaryPly, binaryStl, objMesh, textPly, textStl } from '../../fixtures/meshFiles.ts';
import type { Mesh } from '../../src/geometry/mesh.ts';
import { byteBlocks, type ByteSource } from '../../src/intake/byteSource.ts';
import { readScan } from '../../src/intake/readScan.ts';
import { durations, type Task } from './durations.ts';
import { figureOf, type Figure } from './figure.ts';

/** Six digits behind the point, as most programs write. */
const sixDigits = (value: number): string => value.toFixed(6);

interface Form {
  readonly name: string;
  readonly file: string;
  readonly written: (mesh: Mesh) => Buffer;
  /** Bytes a triangle, about. */
  readonly each: number;
  readonly aim: string | null;
}

const atLeastThree = 'at least 3';
const forms: readonly Form[] = [
  { name: 'STL binary', file: 'b.stl', written: (mesh) => binaryStl(mesh), each: 50, aim: null },
  {
    name: 'STL ASCII',
    file: 't.stl',
    written: (mesh) => textStl(mesh, sixDigits),
    each: 280,
    aim: atLeastThree,
  },
  { name: 'PLY binary', file: 'b.ply', written: (mesh) => binaryPly(mesh), each: 25, aim: null },
  {
    name: 'PLY ASCII',
    file: 't.ply',
    written: (mesh) => textPly(mesh, sixDigits),
    each: 38,
    aim: atLeastThree,
  },
  {
    name: 'OBJ',
    file: 't.obj',
    written: (mesh) => objMesh(mesh, sixDigits),
    each: 39,
    aim: atLeastThree,
  },
];

/** Uses an open file as a source, as the command does. */
function withSource<T>(path: string, use: (source: ByteSource) => T): T {
  const file = openSync(path, 'r');
  try {
    const { size } = statSync(path);
    return use({ size, read: (into, at) => readSync(file, into, 0, into.length, at) });
  } finally {
    closeSync(file);
  }
}

const ours = (path: string, triangles: number): Task => ({
  run: () => {
    const { mesh, faults } = withSource(path, (source) =>
      readScan(path, source, { millimetres: 1, most: 2 ** 33 }),
    );
    if (mesh?.triangles.length !== 3 * triangles || faults.length > 0)
      throw new Error(`${path}: ${mesh?.triangles.length} corners of ${triangles} triangles read`);
  },
});

const bytesAlone = (path: string): Task => ({
  run: () => withSource(path, (source) => [...byteBlocks(source)].length),
});

/** Reads a file whole and hands it to three's loader of its format. */
function byThree(path: string): Task {
  const whole = (): ArrayBuffer => {
    const bytes = readFileSync(path);
    return bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.length);
  };
  if (path.endsWith('.stl')) return { run: () => new STLLoader().parse(whole()) };
  if (path.endsWith('.ply')) return { run: () => new PLYLoader().parse(whole()) };
  return { run: () => new OBJLoader().parse(readFileSync(path, 'latin1')) };
}

/**
 * What the readers of scans get through, on files of about `bytes`: against reading the bytes alone, and
 * against three's loaders, which keep 32-bit floats, weld nothing and look for nothing amiss.
 */
export function scanFigures(folder: string, bytes: number, rounds: number): Figure[] {
  return forms.flatMap(({ name, file, written, each, aim }) => {
    const path = join(folder, file);
    // Of `rings` rings come 4 * rings * (rings - 1) triangles.
    const mesh = clay(Math.round(Math.sqrt(bytes / each) / 2));
    const content = written(mesh);
    writeFileSync(path, content);
    const triangles = mesh.triangles.length / 3;
    const taken = durations(
      { ours: ours(path, triangles), bytes: bytesAlone(path), three: byThree(path) },
      rounds,
    );
    const amount = { value: content.length / 1e6, unit: 'MB' };
    const reader = { name: 'reader', taken: taken.ours, amount };
    const title = `${name} reader: ${amount.value.toFixed(1)} MB of ${triangles} triangles`;
    return [
      figureOf(
        `${title}, against three's loader`,
        'as fast',
        reader,
        {
          name: "three's loader",
          taken: taken.three,
          amount,
        },
        aim,
      ),
      figureOf(`${title}, against reading the bytes`, 'as long', reader, {
        name: 'reading',
        taken: taken.bytes,
        amount,
      }),
    ];
  });
}
