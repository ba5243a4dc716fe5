// Puts the demo's output and the table of limits into the README: npm run readme
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { root, withParts } from './readmeParts.ts';

const path = join(root, 'README.md');
writeFileSync(path, withParts(readFileSync(path, 'utf8')));
