import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { clay } from '../../fixtures/clay.ts';
import { binaryStl } from '../../fixtures/meshFiles.ts';
import { netJson } from '../../fixtures/netJson.ts';
import { clampedKnots, fittedNet } from '../../fixtures/fittedNet.ts';
import { readyScan } from '../../src/audit.ts';
import { scanFeet } from '../../src/geometry/scanFeet.ts';
import { keepScan, keptScan, leastKept } from '../../src/cli/keptScan.ts';
import type { JudgedFile } from '../../src/verdict/judgedFile.ts';
import { auditRun, inFolder } from './auditRun.ts';

const mesh = clay(12);
const body = readyScan([mesh])!;
const checksum = 'ab'.repeat(32);
const judged = {
  file: 'clay.stl',
  sha256: checksum,
  format: 'stl',
  panels: [],
} as unknown as JudgedFile;
const keptFile = (folder: string): string => join(folder, '.clay.stl.hullsight');

describe('a scan kept beside its file', () => {
  test('comes back with what the verdict tells of it, and gives the same feet', async () => {
    await inFolder((folder) => {
      const path = join(folder, 'clay.stl');
      keepScan(path, checksum, '1', { judged, body });
      const kept = keptScan(path, checksum, '1')!;
      expect(kept.judged).toEqual(judged);
      const places = Float64Array.from({ length: 300 }, (_, k) => 250 * Math.sin(k * k));
      expect(scanFeet(kept.body, places, Infinity)).toEqual(scanFeet(body, places, Infinity));
    });
  });

  test('is not used for another scan, nor by another version, nor where there is none', async () => {
    await inFolder((folder) => {
      const path = join(folder, 'clay.stl');
      expect(keptScan(path, checksum, '1')).toBeNull();
      keepScan(path, checksum, '1', { judged, body });
      expect(keptScan(path, 'cd'.repeat(32), '1')).toBeNull();
      expect(keptScan(path, checksum, '2')).toBeNull();
      expect(keptScan(join(folder, 'other.stl'), checksum, '1')).toBeNull();
    });
  });

  test('is not believed where a byte of it is another, or its end is missing', async () => {
    await inFolder((folder) => {
      const path = join(folder, 'clay.stl');
      keepScan(path, checksum, '1', { judged, body });
      const whole = readFileSync(keptFile(folder));
      fc.assert(
        fc.property(fc.nat(whole.length - 1), fc.integer({ min: 1, max: 255 }), (at, by) => {
          const bytes = Buffer.from(whole);
          bytes[at] ^= by;
          writeFileSync(keptFile(folder), bytes);
          expect(keptScan(path, checksum, '1')).toBeNull();
        }),
        { numRuns: 200, seed: 3 },
      );
      fc.assert(
        fc.property(fc.nat(whole.length - 1), (length) => {
          writeFileSync(keptFile(folder), whole.subarray(0, length));
          expect(keptScan(path, checksum, '1')).toBeNull();
        }),
        { numRuns: 60, seed: 4 },
      );
    });
  });

  test('nothing is kept, and nobody is told, where nothing may be written', async () => {
    await inFolder((folder) => {
      writeFileSync(join(folder, 'file'), '');
      const path = join(folder, 'file', 'clay.stl');
      expect(() => keepScan(path, checksum, '1', { judged, body })).not.toThrow();
    });
  });
});

test('an audit keeps a large scan, uses it, and says the same; --no-cache does neither', async () => {
  await inFolder(async (folder) => {
    const scan = binaryStl(clay(210));
    expect(scan.length).toBeGreaterThan(leastKept);
    const path = join(folder, 'clay.stl');
    writeFileSync(path, scan);
    const net = fittedNet([4, 4], [clampedKnots(4), clampedKnots(4)], (u, v) => {
      const [x, y] = [200 * u - 100, 200 * v - 100];
      return [x, y, Math.sqrt(200 ** 2 - x * x - y * y)];
    });
    writeFileSync(join(folder, 'cap.net.json'), netJson([{ name: 'cap', net }]));
    const run = async (cache: boolean): Promise<string> =>
      (
        await auditRun([folder], {
          scan: [path],
          only: 'scan-distance',
          format: 'json',
          jobs: 1,
          cache,
        })
      ).printed;
    const plain = await run(false);
    expect(existsSync(keptFile(folder))).toBe(false);
    const first = await run(true);
    expect(existsSync(keptFile(folder))).toBe(true);
    const kept = readFileSync(keptFile(folder));
    expect(await run(true)).toBe(first);
    expect(first).toBe(plain);
    expect(readFileSync(keptFile(folder)).equals(kept)).toBe(true);
    // the scan changes: what is kept is of another one
    writeFileSync(
      path,
      binaryStl({ ...clay(210), vertices: clay(210).vertices.map((x) => 1.01 * x) }),
    );
    expect(await run(true)).not.toBe(first);
    expect(readFileSync(keptFile(folder)).equals(kept)).toBe(false);
  });
});
