import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { endings, formatByName } from '../../src/intake/format.ts';
import { corpusFolder } from '../corpus.ts';
import { corpusSamples, fixtureSamples, oddFile, oddFolder } from '../fuzz/mutations.ts';
import { readingOf } from '../fuzz/oddFileTrouble.ts';

// The long run is test/fuzz/fuzz.ts; its generator is the same, its seed another.
const seed = 20260101;

/** Numbers of cases that did what no file may do, with what that was. */
function troubles(samples: ReturnType<typeof fixtureSamples>, count: number): string[] {
  return Array.from({ length: count }, (_, number) => {
    const { name, bytes } = oddFile(samples, seed, number);
    const { trouble } = readingOf(name, bytes);
    return trouble === null ? [] : [`case ${number}: ${trouble}`];
  }).flat();
}

describe('any bytes give an intake: no exception, no long wait, no number that is none', () => {
  test('500 odd files made of the fixtures', () => {
    expect(troubles(fixtureSamples(), 500)).toEqual([]);
  });

  test.skipIf(corpusFolder === null)('150 odd files made of real ones', () => {
    expect(troubles(corpusSamples(corpusFolder!), 150)).toEqual([]);
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

  const kept = existsSync(oddFolder)
    ? readdirSync(oddFolder).filter((name) => formatByName(name) !== null)
    : [];
  test.each(kept)('bytes that once did harm: %s', (name) => {
    expect(readingOf(name, readFileSync(join(oddFolder, name))).trouble).toBeNull();
  });
});
