import { spawnSync, type SpawnSyncReturns } from 'node:child_process';
import {
  chmodSync,
  copyFileSync,
  existsSync,
  mkdirSync,
  readdirSync,
  readFileSync,
  statSync,
  symlinkSync,
  truncateSync,
  writeFileSync,
} from 'node:fs';
import { join, resolve } from 'node:path';
import { describe, expect, test } from 'vitest';
import { faultCodes, type FaultCode } from '../../src/intake/fault.ts';
import { auditRun, command, inFolder, isBuilt, started, type VerdictJson } from './auditRun.ts';
import {
  badContents,
  badIges,
  badJson,
  badStep,
  hugeCounts,
  igesText,
  jsonText,
  stepText,
  type BadFile,
} from './badFiles.ts';
import { badObj } from './badObjFiles.ts';
import { badScans } from './badScans.ts';
import { badVda } from './badVdaFiles.ts';

const fixtures = resolve(import.meta.dirname, '../../fixtures');
const goodFile = join(fixtures, 'rules/point-jut/met.net.json');
const putGood = (folder: string): void => copyFileSync(goodFile, join(folder, 'good.net.json'));

async function verdictOf(
  paths: readonly string[],
): Promise<{ readonly status: number; readonly verdict: VerdictJson; readonly text: string }> {
  const { status, printed } = await auditRun(paths, { format: 'json' });
  const { printed: text } = await auditRun(paths);
  return { status, verdict: JSON.parse(printed) as VerdictJson, text };
}

/** What every sentence about a file ends in: something a person can do. */
const advice = /\b(Send|Check|Give|Mend|Rename|Save|Add|Split|Did you mean|Take it out|repair)\b/;
const unfilled = /undefined|NaN found|\[object|\{\w+\}|"" /;
// Those that are about the file as a whole have no place in it.
const placeless: ReadonlySet<FaultCode> = new Set<FaultCode>([
  'file-missing',
  'file-unreadable',
  'file-empty',
  'file-too-large',
  'not-a-file',
  'link-loop',
  'nothing-to-read',
  'unknown-format',
  'wrong-extension',
  'iges-section',
  'too-deep',
  'mesh-empty',
  'mesh-too-large',
  'stl-form',
]);

/** The file is a fault with place and advice, the good one beside it is judged, the status is 2. */
async function expectFault(folder: string, file: string, code: FaultCode): Promise<void> {
  const { status, verdict, text } = await verdictOf([folder, join(folder, file)]);
  const faults = verdict.faults.filter((fault) => fault.file === file);
  const fault = faults.find((f) => f.code === code);
  expect(faults.map((f) => f.code)).toContain(code);
  expect(status).toBe(2);
  expect(verdict.panels.filter((panel) => panel.file === 'good.net.json')).toHaveLength(1);
  for (const { text: sentence } of faults) {
    expect(sentence).toMatch(advice);
    expect(sentence).not.toMatch(unfilled);
  }
  if (!placeless.has(code)) expect(fault!.line ?? fault!.byte ?? fault!.record).not.toBeUndefined();
  const flat = text.replace(/\s+/g, ' ');
  expect(flat).toContain(`${file}${fault!.line === undefined ? '' : `, line ${fault!.line}`}`);
  expect(flat).toContain(`[${code}]`);
}

const titled = (files: readonly BadFile[]): (readonly [string, BadFile])[] =>
  files.map((file) => [`${file.given} (${file.name}): ${file.code}`, file]);

describe.each([
  ['what is there is not what is meant', badContents],
  ['IGES', badIges],
  ['STEP', badStep],
  ['VDA-FS', badVda],
  ['OBJ', badObj],
  ['net JSON', badJson],
  ['scans', badScans],
] as const)('%s', (_, files) => {
  test.each(titled(files))('%s', async (_title, { name, bytes, code }) => {
    await inFolder(async (folder) => {
      putGood(folder);
      writeFileSync(join(folder, name), bytes);
      await expectFault(folder, name, code);
    });
  });
});

const makePipe = (path: string): unknown => spawnSync('sh', ['-c', 'mkfifo "$0"', path]);

/** Files that are bad by what they are in the file system. */
const badEntries: readonly (readonly [string, string, FaultCode, (path: string) => void])[] = [
  ['nothing', 'gone.igs', 'file-missing', () => undefined],
  ['a link that leads nowhere', 'link.igs', 'file-missing', (path) => symlinkSync('gone', path)],
  ['a link to itself', 'loop.igs', 'link-loop', (path) => symlinkSync(path, path)],
  ['a folder of no surfaces', 'notes', 'nothing-to-read', (path) => mkdirSync(path)],
  ['a pattern that fits nothing', '*.p21', 'nothing-to-read', () => undefined],
  ['a pipe', 'pipe.igs', 'not-a-file', (path) => makePipe(path)],
  ['a link to a device', 'zero.igs', 'not-a-file', (path) => symlinkSync('/dev/zero', path)],
  [
    'a file of 2 GB (sparse)',
    'huge.igs',
    'file-too-large',
    (path) => {
      writeFileSync(path, '');
      truncateSync(path, 2 ** 31);
    },
  ],
  [
    'a scan of 4 TB (sparse)',
    'huge.stl',
    'mesh-too-large',
    (path) => {
      writeFileSync(path, '');
      truncateSync(path, 2 ** 42);
    },
  ],
];

describe.skipIf(process.platform === 'win32')('in the file system', () => {
  test.each(badEntries)('%s (%s): %s', async (_, name, code, make) => {
    await inFolder(async (folder) => {
      putGood(folder);
      make(join(folder, name));
      const { status, verdict, text } = await verdictOf([
        join(folder, 'good.net.json'),
        join(folder, name),
      ]);
      expect(verdict.faults.map((fault) => fault.code)).toEqual([code]);
      expect([status, verdict.panels.length]).toEqual([2, 1]);
      expect(verdict.faults[0].text).toMatch(advice);
      expect(text.replace(/\s+/g, ' ')).toContain(`${name}: `);
    });
  });

  test('a walk meets a pipe, a link to itself and a link to a folder, and ends', async () => {
    await inFolder(async (folder) => {
      putGood(folder);
      mkdirSync(join(folder, 'parts'));
      makePipe(join(folder, 'parts/pipe.igs'));
      symlinkSync('loop.stp', join(folder, 'parts/loop.stp'));
      symlinkSync('..', join(folder, 'parts/up'));
      symlinkSync('..', join(folder, 'parts/up.igs'));
      const { status, verdict } = await verdictOf([folder]);
      expect(verdict.faults.map(({ file, code }) => [file, code])).toEqual([
        ['parts/loop.stp', 'link-loop'],
        ['parts/pipe.igs', 'not-a-file'],
        ['parts/up.igs', 'not-a-file'],
      ]);
      expect([status, verdict.panels.length]).toEqual([2, 1]);
    });
  });

  test('a folder where a file is meant is walked, whatever its name', async () => {
    await inFolder(async (folder) => {
      mkdirSync(join(folder, 'parts.igs/deeper'), { recursive: true });
      putGood(join(folder, 'parts.igs/deeper'));
      const { status, verdict } = await verdictOf([join(folder, 'parts.igs')]);
      expect(verdict.panels.map(({ file }) => file)).toEqual(['deeper/good.net.json']);
      expect([status, verdict.faults]).toEqual([0, []]);
    });
  });

  // Linux: the memory of a process is a plain file whose first page cannot be read, by anyone.
  test.skipIf(process.platform !== 'linux')('reading that fails: file-unreadable', async () => {
    const { status, verdict } = await verdictOf([goodFile, '/proc/self/mem']);
    expect(verdict.faults.map(({ code }) => code)).toEqual(['file-unreadable']);
    expect(verdict.faults[0].text).toContain('EIO');
    expect([status, verdict.panels.length]).toEqual([2, 1]);
  });

  // Whoever is root may read all; then the command runs as the user "nobody".
  const isRoot = process.getuid?.() === 0;
  const nobody = isRoot ? { uid: 65534 } : {};
  const mayStart = isBuilt && started(['--version'], nobody).status === 0;
  test.skipIf(!mayStart)('a file and a folder without permission: file-unreadable', async () => {
    await inFolder((folder) => {
      chmodSync(folder, 0o755);
      putGood(folder);
      mkdirSync(join(folder, 'shut'));
      copyFileSync(goodFile, join(folder, 'shut.net.json'));
      for (const name of ['shut', 'shut.net.json']) chmodSync(join(folder, name), 0);
      const { status, out } = started(['audit', folder, '--format', 'json'], nobody);
      const verdict = JSON.parse(out) as VerdictJson;
      expect(verdict.faults.map(({ file, code }) => [file, code])).toEqual([
        ['shut', 'file-unreadable'],
        ['shut.net.json', 'file-unreadable'],
      ]);
      expect(verdict.faults[0].text).toContain('EACCES');
      expect([status, verdict.panels.length]).toEqual([2, 1]);
      expect(started(['audit', folder, '--output', join(folder, 'v.json')], nobody)).toMatchObject({
        status: 2,
        err: expect.stringContaining('v.json cannot be written (EACCES)') as string,
      });
      chmodSync(join(folder, 'shut'), 0o755);
    });
  });
});

test('every fault code stands in a table above', () => {
  const provoked = new Set<FaultCode>([
    ...[
      ...badContents,
      ...badIges,
      ...badStep,
      ...badVda,
      ...badObj,
      ...badJson,
      ...badScans,
      ...hugeCounts,
    ].map(({ code }) => code),
    ...badEntries.map(([, , code]) => code),
    'file-unreadable',
  ]);
  expect(faultCodes.filter((code) => !provoked.has(code))).toEqual([]);
});

describe('counts that no memory could hold', () => {
  test.each(titled(hugeCounts))('%s', async (_title, { name, bytes, code }) => {
    await inFolder(async (folder) => {
      putGood(folder);
      writeFileSync(join(folder, name), bytes);
      const begun = performance.now();
      await expectFault(folder, name, code);
      expect(performance.now() - begun).toBeLessThan(2000);
    });
  });

  test.skipIf(!isBuilt)('all of them in one run take little memory', async () => {
    await inFolder((folder) => {
      hugeCounts.forEach(({ name, bytes }, k) =>
        writeFileSync(join(folder, `${String(k)}-${name}`), bytes),
      );
      const note = join(folder, 'memory.txt');
      const preload = join(folder, 'memory.cjs');
      writeFileSync(
        preload,
        `process.on('exit', () => require('fs').writeFileSync(${JSON.stringify(note)}, String(process.resourceUsage().maxRSS)));`,
      );
      const run = started(['audit', folder, '--format', 'json'], {
        before: ['--require', preload],
      });
      expect(run.status).toBe(2);
      expect((JSON.parse(run.out) as VerdictJson).faults.length).toBeGreaterThanOrEqual(
        hugeCounts.length,
      );
      // maxRSS is in kilobytes; Node alone takes some 50 MB.
      expect(Number(readFileSync(note, 'utf8')) / 1024).toBeLessThan(250);
    });
  });
});

describe('what a fault says', () => {
  const said = async (name: string, bytes: string): Promise<string> =>
    inFolder(async (folder) => {
      writeFileSync(join(folder, name), bytes);
      return (await verdictOf([join(folder, name)])).text.replace(/\s+/g, ' ');
    });
  const panel = (more: Readonly<Record<string, unknown>>): string => jsonText(more);

  test.each<[string, string, string, string]>([
    [
      'the nearest key',
      'hood.net.json',
      panel({ wieghts: null }),
      'hood.net.json, line 6, /panels/0: there is no key "wieghts". Did you mean "weights"? [json-shape]',
    ],
    [
      'the key that is missing',
      'hood.net.json',
      panel({ degree: undefined }),
      'line 6, /panels/0: the key "degree" is missing. Add it.',
    ],
    [
      'the type, deepest in a choice',
      'hood.net.json',
      panel({ weights: [[1, 'one', 1]] }),
      '/panels/0/weights/0/1: this must be a number.',
    ],
    [
      'the number that is not finite',
      'hood.net.json',
      panel({}).replace('12.5', '1e999'),
      'hood.net.json, line 38, /panels/0/rows/0/1/2: the number 1e999 is not a finite number.',
    ],
    [
      'units to choose from',
      'hood.net.json',
      jsonText({}, { units: 'cubit' }),
      'line 4, /units: this must be one of mm, cm, m, in, ft.',
    ],
    [
      'where a row is ragged',
      'hood.net.json',
      panel({ rows: [[[0, 0, 0]], []] }),
      '/panels/0/rows/1: points in the row: 0 found, 1 expected.',
    ],
    [
      'NaN',
      'hood.net.json',
      panel({}).replace('12.5', 'NaN'),
      'hood.net.json, line 38: the text is not JSON: this word is no value',
    ],
    [
      'a line in column 73',
      'hood.igs',
      igesText.replace('\n', '\ntorn\n'),
      'hood.igs, line 2: 1 line has no section letter',
    ],
    [
      'both formats',
      'hood.igs',
      stepText,
      'hood.igs: the name says IGES, the content looks like STEP. Rename the file',
    ],
  ])('%s', async (_, name, bytes, expected) => {
    expect(await said(name, bytes)).toContain(expected);
  });
});

describe('names', () => {
  // C0 and C1 control characters (ISO/IEC 6429), among them ESC and the one-byte CSI; a reversed run.
  const wild = 'hood\u001b[31m\u0007\u009b2J\u202egnp';
  // eslint-disable-next-line no-control-regex
  const actedOn = /[\u0000-\u0009\u000b-\u001f\u007f-\u009f\u202a-\u202e]/;

  test.each<[string, string]>([
    ['hood.net.json', jsonText({ name: wild })],
    ['key.net.json', jsonText({ [wild]: 1 })],
    ['hood.stp', stepText.replace("'hood'", `'${wild}'`)],
    ['bad.stp', stepText.replace('(50.,', `(${wild},`)],
    ['hood.igs', igesText.replace('12.5', '\u001b[2')],
  ])('terminal escapes do not leave the program: %s', async (name, bytes) => {
    await inFolder(async (folder) => {
      writeFileSync(join(folder, name), bytes);
      for (const format of ['text', 'json'] as const) {
        const { printed } = await auditRun([folder], { format });
        expect(printed).not.toMatch(actedOn);
      }
    });
  });

  test('a name in the JSON reads back as it was', async () => {
    await inFolder(async (folder) => {
      writeFileSync(join(folder, 'hood.net.json'), jsonText({ name: wild }));
      expect((await verdictOf([folder])).verdict.panels[0].name).toBe(wild);
    });
  });

  test.skipIf(!isBuilt)('nor does one in a spec, an option or a file name', async () => {
    await inFolder((folder) => {
      const spec = join(folder, 'spec.json');
      writeFileSync(spec, JSON.stringify({ format: 'hullsight-spec', version: 1, [wild]: 1 }));
      for (const words of [
        ['audit', goodFile, '--spec', spec],
        ['audit', goodFile, '--only', wild],
        ['audit', goodFile, `--${wild}`],
        ['audit', join(folder, wild)],
      ]) {
        const { status, out, err } = started(words);
        expect(status).toBe(2);
        expect(out + err).not.toMatch(actedOn);
      }
    });
  });

  test('file names with blanks, other alphabets and the signs of a pattern', async () => {
    await inFolder(async (folder) => {
      const names = [
        'Haube gro\u00df (neu).net.json',
        '\u9762\u677f [1] {a}.net.json',
        "it's $HOME.net.json",
      ];
      for (const name of names) copyFileSync(goodFile, join(folder, name));
      for (const paths of [[folder], names.map((name) => join(folder, name))]) {
        const { status, verdict } = await verdictOf(paths);
        expect(status).toBe(0);
        expect(verdict.panels.map(({ file }) => file)).toEqual(names.toSorted());
      }
    });
  });

  test('two panels of one name are both judged, the second under another name', async () => {
    await inFolder(async (folder) => {
      const { panels, ...rest } = JSON.parse(jsonText()) as { panels: unknown[] };
      writeFileSync(
        join(folder, 'hood.net.json'),
        JSON.stringify({ ...rest, panels: [...panels, ...panels] }),
      );
      const { verdict } = await verdictOf([folder]);
      expect(verdict.panels.map(({ name }) => name)).toEqual(['hood', 'hood~2']);
    });
  });

  test('one file named in two ways is judged once', async () => {
    await inFolder(async (folder) => {
      putGood(folder);
      const { verdict } = await verdictOf([folder, join(folder, 'good.net.json'), `${folder}/./`]);
      expect(verdict.panels).toHaveLength(1);
    });
  });
});

test('two neighbours in one place are a finding, not a fault', async () => {
  await inFolder(async (folder) => {
    const { panels, ...rest } = JSON.parse(readFileSync(goodFile, 'utf8')) as {
      panels: { rows: number[][][] }[];
    };
    panels[0].rows[2][3] = panels[0].rows[2][2];
    writeFileSync(join(folder, 'hood.net.json'), JSON.stringify({ ...rest, panels }));
    const { status, verdict } = await verdictOf([folder]);
    expect(verdict.faults).toEqual([]);
    expect(verdict.findings.filter(({ rule }) => rule === 'leg-collapse')).toMatchObject([
      { site: { kind: 'leg', row: 2, column: 2, along: 'row' } },
    ]);
    expect(status).toBe(1);
  });
});

describe('the call', () => {
  test.each<[string, Parameters<typeof auditRun>[1], RegExp]>([
    ['an unknown rule', { only: 'point-jtu' }, /no such rule.*Did you mean point-jut\?/],
    ['no workers', { jobs: 0 }, /--jobs takes a whole number/],
    ['half a worker', { jobs: 1.5 }, /--jobs takes a whole number/],
    ['workers that are no number', { jobs: Number.NaN }, /--jobs takes a whole number/],
    [
      'a spec that is missing',
      { spec: 'gone/spec.json' },
      /gone\/spec\.json cannot be read \(ENOENT\)/,
    ],
    ['a folder as spec', { spec: fixtures }, /is not a file/],
  ])('%s', async (_, asked, message) => {
    await expect(auditRun([goodFile], asked)).rejects.toThrow(message);
  });

  const spec = (more: Readonly<Record<string, unknown>>): string =>
    JSON.stringify({ format: 'hullsight-spec', version: 1, ...more });
  test.each<[string, string, RegExp | null]>([
    ['not JSON', '{ "format": ', /is not JSON/],
    ['no bytes', '', /is not JSON/],
    ['an unknown key', spec({ clas: 'A' }), /"clas".*Did you mean "class"\?/],
    [
      'an unknown rule',
      spec({ rules: { 'point-jutt': { off: true } } }),
      /Did you mean "point-jut"\?/,
    ],
    [
      'a limit that is a word',
      spec({ rules: { 'point-jut': { limits: { A: 'low' } } } }),
      /\/rules\/point-jut\/limits\/A/,
    ],
    ['a rule file that is missing', spec({ ownRules: ['own.json'] }), /own\.json cannot be read/],
    ['a byte-order mark', `\ufeff${spec({})}`, null],
  ])('a spec beside the files: %s', async (_, text, message) => {
    await inFolder(async (folder) => {
      putGood(folder);
      writeFileSync(join(folder, 'hullsight.json'), text);
      const run = auditRun([folder]);
      if (message) await expect(run).rejects.toThrow(message);
      else expect((await run).status).toBe(0);
    });
  });

  test.skipIf(process.platform === 'win32')('a spec that is a pipe or a lost link', async () => {
    await inFolder(async (folder) => {
      putGood(folder);
      const path = join(folder, 'hullsight.json');
      symlinkSync('gone', path);
      await expect(auditRun([folder])).rejects.toThrow(/cannot be read/);
      makePipe(join(folder, 'pipe'));
      await expect(auditRun([folder], { spec: join(folder, 'pipe') })).rejects.toThrow(
        /not a file/,
      );
    });
  });

  test('--output onto a file that is read is refused, and the file stays', async () => {
    await inFolder(async (folder) => {
      putGood(folder);
      const rule = readFileSync(join(fixtures, '../rules/point-jut.json'), 'utf8');
      writeFileSync(join(folder, 'own.json'), rule.replace('"point-jut"', '"our-jut"'));
      writeFileSync(join(folder, 'hullsight.json'), spec({ ownRules: ['own.json'] }));
      symlinkSync('good.net.json', join(folder, 'link.json'));
      for (const name of ['good.net.json', 'link.json', 'hullsight.json', 'own.json']) {
        const path = join(folder, name);
        const before = readFileSync(path);
        await expect(auditRun([folder], { output: path })).rejects.toThrow(/--output .* is one of/);
        expect(readFileSync(path)).toEqual(before);
      }
      expect(readdirSync(folder)).toHaveLength(4);
    });
  });

  test('--output makes the folder it needs', async () => {
    await inFolder(async (folder) => {
      putGood(folder);
      const output = join(folder, 'new/deeper/verdict.json');
      expect((await auditRun([folder], { output })).status).toBe(0);
      expect((JSON.parse(readFileSync(output, 'utf8')) as VerdictJson).summary.panels).toBe(1);
      expect(readdirSync(join(folder, 'new/deeper'))).toEqual(['verdict.json']);
    });
  });

  test('--output where nothing can be written leaves nothing behind', async () => {
    await inFolder(async (folder) => {
      putGood(folder);
      writeFileSync(join(folder, 'a.txt'), '');
      mkdirSync(join(folder, 'full/inner'), { recursive: true });
      const before = readdirSync(folder);
      for (const output of ['a.txt/verdict.json', 'a.txt/deeper/verdict.json', 'full', '.'])
        await expect(auditRun([folder], { output: join(folder, output) })).rejects.toThrow(
          /cannot be written \(E[A-Z]+\)/,
        );
      expect(readdirSync(folder)).toEqual(before);
      expect(statSync(join(folder, 'full/inner')).isDirectory()).toBe(true);
    });
  });
});

describe.skipIf(!isBuilt)('the built command', () => {
  test.each<[string, string[], RegExp]>([
    ['nothing', [], /^hullsight: Say what to do: audit, convert, lighten or explain/],
    ['no files', ['audit'], /^hullsight: Say what to audit/],
    ['an unknown command', ['audti', goodFile], /Did you mean audit\?/],
    [
      'an unknown option',
      ['audit', goodFile, '--outptu', 'x'],
      /no option --outptu. Did you mean --output\?/,
    ],
    ['an option without its value', ['audit', goodFile, '--spec'], /--spec needs a value/],
    [
      'an option twice',
      ['audit', goodFile, '--jobs', '1', '--jobs', '2'],
      /--jobs is given more than once/,
    ],
    ['no workers', ['audit', goodFile, '--jobs', '0'], /--jobs takes a whole number/],
    ['workers by name', ['audit', goodFile, '--jobs', 'all'], /--jobs takes a whole number/],
    [
      'a severity nobody knows',
      ['audit', goodFile, '--block-at', 'nonsense'],
      /--block-at cannot be "nonsense".*"severe"/,
    ],
    ['a form nobody knows', ['audit', goodFile, '--format', 'xml'], /--format cannot be "xml"/],
    [
      'profiles in a text verdict',
      ['audit', goodFile, '--profiles'],
      /--profiles goes with --format json/,
    ],
    [
      'profiles in a text file',
      ['audit', goodFile, '--profiles', '--output', 'verdict.txt'],
      /--profiles goes with --format json/,
    ],
    ['no file to convert', ['convert', '--to', 'stp'], /^hullsight: Say which file to convert/],
    [
      'no form to convert to',
      ['convert', goodFile],
      /^hullsight: Say what to convert to: --to igs/,
    ],
    ['a form that is not written', ['convert', goodFile, '--to', 'obj'], /--to cannot be "obj"/],
    [
      'a form given twice',
      ['convert', goodFile, '--to', 'stp', '--to', 'igs'],
      /--to is given more than once/,
    ],
    [
      'a pattern to convert',
      ['convert', '*.nothing', '--to', 'stp'],
      /convert takes one file by its name/,
    ],
    ['an unknown rule', ['explain', 'point-jtu'], /Did you mean point-jut\?/],
  ])('%s: one line on stderr, status 2', (_, words, message) => {
    const { status, out, err } = started(words);
    expect(err).toMatch(message);
    expect(err.trimEnd()).not.toContain('\n');
    expect([status, out]).toEqual([2, '']);
  });

  test('bad and good files, with one worker and with two: the same bytes, status 2', async () => {
    await inFolder((folder) => {
      putGood(folder);
      writeFileSync(join(folder, 'empty.igs'), '');
      writeFileSync(join(folder, 'hood.stp'), stepText.slice(0, -40));
      const paths = readdirSync(folder).map((name) => join(folder, name));
      const [one, two] = ['1', '2'].map((jobs) =>
        started(['audit', ...paths, '--format', 'json', '--jobs', jobs]),
      );
      const atStart = /"at": "[^"]*"/;
      expect([one.status, two.status, two.err]).toEqual([2, 2, '']);
      expect(two.out.replace(atStart, '')).toBe(one.out.replace(atStart, ''));
      expect((JSON.parse(one.out) as VerdictJson).panels.map(({ file }) => file)).toContain(
        'good.net.json',
      );
    });
  });

  const piped = (script: string, folder: string): SpawnSyncReturns<string> =>
    spawnSync('sh', ['-c', script, 'sh', process.execPath, command, folder], {
      encoding: 'utf8',
      timeout: 20_000,
    });

  test.skipIf(process.platform === 'win32')('a reader that leaves early is no error', async () => {
    await inFolder((folder) => {
      // More than a pipe holds (64 KB on Linux), so that writing meets the closed end.
      for (let k = 0; k < 8; k++)
        copyFileSync(join(fixtures, 'demo/same/ternwing-3.igs'), join(folder, `${k}.igs`));
      const { stdout, stderr } = piped(
        '"$1" "$2" audit "$3" --format json --only quad-fold --profiles | head -n 1',
        folder,
      );
      expect([stdout, stderr]).toEqual(['{\n', '']);
    });
  });

  test.skipIf(!existsSync('/dev/full'))('a full disk is told in one line, status 2', () => {
    const { status, stderr } = piped('"$1" "$2" audit "$3" > /dev/full', goodFile);
    expect([status, stderr]).toEqual([2, 'hullsight: the verdict cannot be written (ENOSPC).\n']);
  });
});
