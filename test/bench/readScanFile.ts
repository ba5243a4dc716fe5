// Reads one scan as the command does, and prints what it held and the most memory the process had: run
// by scanMemory.ts in a process of its own.
import { closeSync, openSync, readSync, statSync } from 'node:fs';
import { readScan } from '../../src/intake/readScan.ts';

const [path] = process.argv.slice(2);
const file = openSync(path, 'r');
const { size } = statSync(path);
const begun = performance.now();
const { counts, faults } = readScan(
  path,
  { size, read: (into, at) => readSync(file, into, 0, into.length, at) },
  { millimetres: 1, most: 2 ** 33 },
);
const milliseconds = performance.now() - begun;
closeSync(file);
console.log(
  JSON.stringify({
    milliseconds,
    peakBytes: process.resourceUsage().maxRSS * 1024,
    counts,
    faults: faults.length,
  }),
);
