import { readdirSync, readFileSync } from 'node:fs';
import { dirname, join, relative, resolve, sep } from 'node:path';
import { describe, expect, test } from 'vitest';

const root = resolve(import.meta.dirname, '..');
const src = join(root, 'src');

/** The folders of src/ in the order in which data flows; cli and the files beside come last. */
const order = ['geometry', 'intake', 'measure', 'rules', 'suggest', 'verdict', 'writers'];

const files = readdirSync(src, { recursive: true, encoding: 'utf8' })
  .map((file) => file.split(sep).join('/'))
  .filter((file) => file.endsWith('.ts') && !file.includes('.generated.'));

const importsOf = (file: string): string[] =>
  [...readFileSync(join(src, file), 'utf8').matchAll(/from '(\.[^']+)'/g)].map((match) =>
    relative(src, resolve(src, dirname(file), match[1]))
      .split(sep)
      .join('/'),
  );

test('the folders of src/ are those of the design, in alphabetical order', () => {
  const folders = readdirSync(src, { withFileTypes: true })
    .filter((entry) => entry.isDirectory())
    .map(({ name }) => name);
  expect(folders.sort()).toEqual(['cli', ...order]);
  expect(order.toSorted()).toEqual(order);
});

describe('a folder imports only from itself and the folders before it', () => {
  test.each(files.filter((file) => order.includes(file.split('/')[0])))('%s', (file) => {
    const own = order.indexOf(file.split('/')[0]);
    for (const target of importsOf(file)) {
      if (target.startsWith('../rules/')) continue; // a rule's own data
      const folder = order.indexOf(target.split('/')[0]);
      expect(folder, `${file} imports ${target}`).toBeGreaterThanOrEqual(0);
      expect(folder, `${file} imports ${target}`).toBeLessThanOrEqual(own);
    }
  });
});

describe('only cli/ knows the process and the disk', () => {
  test.each(files.filter((file) => !file.startsWith('cli/')))('%s', (file) => {
    const text = readFileSync(join(src, file), 'utf8');
    expect(text).not.toMatch(/\bprocess\./);
    expect(text).not.toMatch(/from 'node:(fs|os|worker_threads|child_process)/);
  });
});

test('no file or folder has a name that says nothing', () => {
  const empty = /(^|\/)(utils?|helpers?|common|core|misc|shared)(\.|\/|$)/i;
  expect(files.filter((file) => empty.test(file))).toEqual([]);
});
