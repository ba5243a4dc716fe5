import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { endings, formatByName, type Format } from '../../src/intake/format.ts';
import { scanFormatByName, type ScanFormat } from '../../src/intake/scanFormat.ts';
import { corpusFolder } from '../corpus.ts';
import {
  corpusSamples,
  corpusScans,
  fixtureSamples,
  fixtureScans,
  oddFile,
  oddFolder,
  type Sample,
} from '../fuzz/mutations.ts';
import { readingOf, scanReadingOf, type Reading } from '../fuzz/oddFileTrouble.ts';

// The long run is test/fuzz/fuzz.ts; its generator is the same, its seed another.
const seed = 20260101;

/** Numbers of cases that did what no file may do, with what that was. */
const troublesOf =
  <F extends Format | ScanFormat>(read: (name: string, bytes: Uint8Array) => Reading<unknown>) =>
  (samples: readonly Sample<F>[], count: number): string[] =>
    Array.from({ length: count }, (_, number) => {
      const { name, bytes } = oddFile(samples, seed, number);
      const { trouble } = read(name, bytes);
      return trouble === null ? [] : [`case ${number}: ${trouble}`];
    }).flat();
const troubles = troublesOf<Format>(readingOf);
const scanTroubles = troublesOf<ScanFormat>(scanReadingOf);

describe('any bytes give an intake: no exception, no long wait, no number that is none', () => {
  test('800 odd files made of the fixtures', () => {
    expect(troubles(fixtureSamples(), 800)).toEqual([]);
  });

  test.skipIf(corpusFolder === null)('250 odd files made of real ones', () => {
    expect(troubles(corpusSamples(corpusFolder!), 250)).toEqual([]);
  });

  test('700 odd scans', () => {
    expect(scanTroubles(fixtureScans(), 700)).toEqual([]);
  });

  test.skipIf(corpusFolder === null)('250 odd scans made of real ones', () => {
    expect(scanTroubles(corpusScans(corpusFolder!), 250)).toEqual([]);
  });

  test('the samples themselves are read whole', () => {
    for (const { format, bytes } of fixtureSamples()) {
      const { intake, trouble } = readingOf(`sample${endings[format][0]}`, bytes);
      expect([trouble, intake!.faults]).toEqual([null, []]);
      expect(intake!.panels.length).toBeGreaterThan(0);
    }
  });

  test('a case depends on its seed and number alone, and they differ', () => {
    const samples = fixtureSamples();
    const of = (s: number, n: number): string => oddFile(samples, s, n).bytes.toString('latin1');
    expect(of(seed, 7)).toBe(of(seed, 7));
    expect(new Set([of(seed, 7), of(seed, 10), of(seed + 1, 7)]).size).toBe(3);
  });

  const odd = existsSync(oddFolder) ? readdirSync(oddFolder) : [];
  test.each(odd.filter((name) => formatByName(name) !== null))(
    'bytes that once did harm: %s',
    (name) => {
      expect(readingOf(name, readFileSync(join(oddFolder, name))).trouble).toBeNull();
    },
  );
  test.each(odd.filter((name) => scanFormatByName(name) !== null))(
    'bytes of a scan that once did harm: %s',
    (name) => {
      expect(scanReadingOf(name, readFileSync(join(oddFolder, name))).trouble).toBeNull();
    },
  );
});
