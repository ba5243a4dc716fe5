import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { readmeParts, root } from './readmeParts.ts';

const readme = readFileSync(join(root, 'README.md'), 'utf8');

/** Without spaces and rulers, which the formatter sets as it likes. */
const bare = (text: string): string => text.replace(/[\s-]+/g, '').replaceAll('||', '|');

test.each(Object.entries(readmeParts()))(
  'the README holds today’s %s (npm run readme)',
  (_, part) => {
    expect(bare(readme)).toContain(bare(part));
  },
);

test('it begins with one paragraph that states the job', () => {
  const [title, job] = readme.split('\n\n');
  expect(title).toBe('# hullsight');
  for (const word of ['row', 'column', 'control point', 'nudge', 'verdict'])
    expect(job).toContain(word);
});

test('every file it points to is there', () => {
  for (const page of ['README.md', 'DEVELOPERS.md'])
    for (const [, path] of readFileSync(join(root, page), 'utf8').matchAll(/\]\(([^)#:]+)\)/g))
      expect(existsSync(join(root, path)), `${page}: ${path}`).toBe(true);
});
