import { createHash } from 'node:crypto';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { clay } from '../../fixtures/clay.ts';
import { scanBody, type ScanBody } from '../../src/geometry/scanBody.ts';
import { scanBodyBytes } from '../../src/geometry/scanBodyBytes.ts';
import { scanFeet } from '../../src/geometry/scanFeet.ts';
import { storedScanBody } from '../../src/geometry/storedScanBody.ts';
import { linkWord } from '../../src/geometry/treeBranches.ts';

const hashOf = (text: string): Buffer => createHash('sha256').update(text).digest();
const scan = hashOf('a scan');

/** A source that hands out no more than `most` bytes at once. */
const sourceOf = (bytes: Uint8Array, most = Infinity) => ({
  size: bytes.length,
  read: (into: Uint8Array, at: number): number => {
    const some = bytes.subarray(at, at + Math.min(into.length, most));
    into.set(some);
    return some.length;
  },
});

const readBack = (bytes: Uint8Array, own = scan): ScanBody | null =>
  storedScanBody(sourceOf(bytes), own);

const mesh = scanBody(clay(8));
const cloud = scanBody({ ...clay(8), triangles: new Uint32Array(0) });
const bytesOf = (body: ScanBody): Buffer => Buffer.concat(scanBodyBytes(body, scan));

/** A fresh sum over all, as one has who forges. */
function withSum(bytes: Buffer): Buffer {
  const sum = createHash('sha256').update(bytes.subarray(0, 136)).update(bytes.subarray(168));
  bytes.set(sum.digest(), 136);
  return bytes;
}

describe.each([
  ['a mesh', mesh],
  ['a cloud', cloud],
  [
    'a single triangle',
    scanBody({
      vertices: Float64Array.of(0, 0, 0, 1, 0, 0, 0, 1, 0),
      triangles: Uint32Array.of(0, 1, 2),
    }),
  ],
])('%s', (_, body) => {
  test('comes back as it was, in shared memory, and answers alike', () => {
    for (const most of [Infinity, 1000, 7]) {
      const back = storedScanBody(sourceOf(bytesOf(body), most), scan)!;
      expect(back).toEqual(body);
      const { vertices, triangles } = back.tree.mesh;
      for (const array of [vertices, triangles, ...Object.values(back.tree.branches)])
        expect(array.buffer).toBeInstanceOf(SharedArrayBuffer);
      const places = Float64Array.from({ length: 300 }, (_, k) => 250 * Math.sin(k * k));
      expect(scanFeet(back, places, 400)).toEqual(scanFeet(body, places, 400));
    }
  });

  test('the same body gives the same bytes', () => {
    expect(bytesOf(body).equals(bytesOf(readBack(bytesOf(body))!))).toBe(true);
  });
});

describe('is none', () => {
  test('of another scan', () => {
    expect(readBack(bytesOf(mesh), hashOf('another'))).toBeNull();
  });

  test('of another version', () => {
    const bytes = bytesOf(mesh);
    bytes.writeUInt32LE(2, 16);
    expect(readBack(withSum(bytes))).toBeNull();
  });

  test('where any bytes are changed, missing, too many or moved', () => {
    const whole = bytesOf(mesh);
    const place = fc.nat({ max: whole.length - 1 });
    const damage = fc.oneof(
      fc.tuple(place, fc.integer({ min: 1, max: 255 })).map(([at, by]) => {
        const bytes = Buffer.from(whole);
        bytes[at] ^= by;
        return bytes;
      }),
      // the head alone
      fc.tuple(fc.nat({ max: 167 }), fc.integer({ min: 1, max: 255 })).map(([at, by]) => {
        const bytes = Buffer.from(whole);
        bytes[at] ^= by;
        return bytes;
      }),
      place.map((at) => whole.subarray(0, at)),
      fc.uint8Array({ minLength: 1 }).map((more) => Buffer.concat([whole, more])),
      fc
        .tuple(place, fc.integer({ min: 1, max: 64 }))
        .map(([at, many]) => Buffer.concat([whole.subarray(0, at), whole.subarray(at + many)])),
      fc.uint8Array({ maxLength: 400 }).map((bytes) => Buffer.from(bytes)),
      fc
        .uint8Array({ maxLength: 400 })
        .map((bytes) => Buffer.concat([whole.subarray(0, 40), bytes])),
    );
    fc.assert(
      fc.property(damage, (bytes) => {
        expect(readBack(bytes)).toBeNull();
      }),
      { numRuns: 2000 },
    );
  });

  test('where its numbers are forged, with a sum that is right, or it is one that can be searched', () => {
    const whole = bytesOf(mesh);
    const counts = [0, -1, 0.5, 1e300, NaN, Infinity, 3, 2 ** 40];
    for (const at of [24, 32, 40])
      for (const count of counts) {
        const bytes = Buffer.from(whole);
        bytes.writeDoubleLE(count, at);
        expect(readBack(withSum(bytes))).toBeNull();
      }
    // corners and links that lead to nowhere, back, or twice to one place
    const triangles = 168 + mesh.tree.mesh.vertices.byteLength;
    const branches = triangles + mesh.tree.mesh.triangles.byteLength;
    const corner = Buffer.from(whole);
    corner.writeUInt32LE(mesh.tree.mesh.vertices.length / 3, triangles + 8);
    expect(readBack(withSum(corner))).toBeNull();
    for (const link of [0, 2, 1e6, 0x7fffffff, -2, -0x80000000, -1 - ((1e6 << 3) | 2)]) {
      const bytes = Buffer.from(whole);
      bytes.writeInt32LE(link, branches + 4 * linkWord);
      expect(readBack(withSum(bytes)), `link ${link}`).toBeNull();
    }
    fc.assert(
      fc.property(
        fc.nat({ max: whole.length - 170 }),
        fc.integer({ min: 1, max: 255 }),
        (at, by) => {
          const bytes = Buffer.from(whole);
          bytes[168 + at] ^= by;
          const body = readBack(withSum(bytes));
          if (body) scanFeet(body, Float64Array.of(1, 2, 3, 200, 0, 0), 300);
        },
      ),
      { numRuns: 300 },
    );
  });

  test('where the bytes end before the size that was told', () => {
    const whole = bytesOf(mesh);
    const { read } = sourceOf(whole.subarray(0, 5000));
    expect(storedScanBody({ size: whole.length, read }, scan)).toBeNull();
  });
});
