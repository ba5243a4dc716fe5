import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { describe, expect, test } from 'vitest';
import { allFixtureTexts } from '../../fixtures/rules/makeRuleFixtures.ts';
import { ruleData } from '../../src/rules/catalogue.ts';
import { ruleShape } from '../../src/rules/rule.generated.js';
import { placeholders, thresholdsOf } from '../../src/rules/rule.ts';
import { rulePage } from '../../src/writers/rulePage.ts';

const root = resolve(import.meta.dirname, '../..');
const ids = ruleData.map(({ id }) => id).sort();
const namesIn = (folder: string, ending: string): string[] =>
  readdirSync(join(root, folder))
    .filter((name) => name.endsWith(ending))
    .map((name) => name.slice(0, -ending.length));

const text = (path: string): string => readFileSync(join(root, path), 'utf8');

test('rules/ holds the data and the page of each rule, and of no other', () => {
  expect(namesIn('rules', '.json').sort()).toEqual(ids);
  expect(namesIn('rules', '.md').sort()).toEqual(ids);
});

test('what is seen is as grave whichever rule finds it, and a tilt is that of its shift at a radius of 2000 mm', () => {
  const steps = ruleData.flatMap(({ severity }) => ('seen' in severity ? [severity.seen] : []));
  expect(steps.length).toBeGreaterThan(1);
  for (const seen of steps) expect(seen).toEqual(steps[0]);
  for (const step of ['moderate', 'severe'] as const)
    for (const own of ['A', 'B', 'C'] as const) {
      const { tilt, shift } = steps[0];
      const shifted = ((tilt[step][own].value * Math.PI) / 180) * 2000;
      expect(shifted / shift[step][own].value).toBeCloseTo(1, 1);
    }
});

test('fixtures/rules/ holds a folder for each rule, as the script makes it', () => {
  const folders = readdirSync(join(root, 'fixtures/rules'), { withFileTypes: true })
    .filter((entry) => entry.isDirectory())
    .map(({ name }) => name);
  expect(folders.sort()).toEqual(ids);
  for (const id of ids)
    for (const [name, made] of Object.entries(allFixtureTexts().get(id) ?? {}))
      expect(
        text(`fixtures/rules/${id}/${name}`) === made,
        `${id}/${name}: run npm run fixtures`,
      ).toBe(true);
});

describe.each(ruleData.map((data) => [data.id, data] as const))('%s', (id, data) => {
  test('stands in its five places under one name', () => {
    for (const path of [`src/rules/${id}.ts`, `test/rules/${id}.test.ts`])
      expect(existsSync(join(root, path)), path).toBe(true);
    expect(JSON.parse(text(`rules/${id}.json`))).toEqual(data);
  });

  test('its data have the shape of a rule', () => {
    expect(ruleShape(data), JSON.stringify(ruleShape.errors)).toBe(true);
  });

  test('each limit names its source, and is stricter (or alike) for A than for B than for C', () => {
    const { A, B, C } = data.limits;
    for (const { source } of [A, B, C])
      expect(source).toMatch(/^(common practice|from memory|.{20,})$/);
    const signed = [A, B, C].map(({ value }) => (data.sense === 'at-most' ? value : -value));
    expect(signed).toEqual(signed.toSorted((a, b) => a - b));
  });

  test('its steps of severity rise, and what is seen is judged more strictly for A than for B than for C', () => {
    const { severity } = data;
    if (!('seen' in severity)) {
      if (severity.severe !== null) expect(severity.severe).toBeGreaterThan(severity.moderate);
      return;
    }
    for (const { moderate, severe } of Object.values(severity.seen)) {
      for (const { A, B, C } of [moderate, severe]) {
        expect(B.value).toBeGreaterThan(A.value);
        expect(C.value).toBeGreaterThan(B.value);
        for (const { source } of [A, B, C]) expect(source).toMatch(/^(common practice|.{20,})$/);
      }
      for (const own of ['A', 'B', 'C'] as const)
        expect(severe[own].value).toBeGreaterThan(moderate[own].value);
    }
  });

  test('its message and remedy have only gaps that are filled', () => {
    for (const sentence of [data.message, data.remedy])
      for (const [, name] of sentence.matchAll(/\{([^}]*)\}/g))
        expect(placeholders).toContain(name);
  });

  test('no limit stands in its page as a number', () => {
    const page = text(`rules/${id}.md`)
      .replace(/\{[^}]*\}/g, '')
      .replace(/## Formula[\s\S]*?(?=\n## )/, '');
    expect(page).not.toMatch(/\d/);
  });

  test('its page can be shown, with every section', () => {
    const shown = rulePage(data, text(`rules/${id}.md`), 80);
    for (const heading of [
      'What it measures',
      'Why it matters',
      'Formula',
      'How to mend',
      'Limits',
    ])
      expect(shown).toContain(heading);
    expect(shown).not.toMatch(/[{}]/);
    for (const line of shown.split('\n')) expect(line.length, line).toBeLessThanOrEqual(80);
  });

  test('a floor that is not in its data cannot be asked for', () => {
    expect(() => thresholdsOf(data, 'A').floor('no-such-floor')).toThrow(/no-such-floor/);
  });
});
