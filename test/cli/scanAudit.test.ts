import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { clampedKnots, fittedNet } from '../../fixtures/fittedNet.ts';
import { gridMesh } from '../../fixtures/gridMesh.ts';
import { binaryPly, binaryStl } from '../../fixtures/meshFiles.ts';
import { netJson } from '../../fixtures/netJson.ts';
import { withMoves, type ControlNet } from '../../src/geometry/controlNet.ts';
import { verdictShape } from '../../src/verdict/verdict.generated.js';
import { auditRun, isBuilt, started } from './auditRun.ts';

const dome = (x: number, y: number): number =>
  -80 * (x / 600 - 0.5) ** 2 - 60 * (y / 400 - 0.5) ** 2;

/** A panel of the dome, off it by so much outward (in z, whose slope the dome hardly has amid). */
const panel = (off: number): ControlNet =>
  fittedNet([4, 4], [clampedKnots(4), clampedKnots(4)], (u, v) => [
    600 * u,
    400 * v,
    dome(600 * u, 400 * v) + off,
  ]);

/** The dome as a scan, some way beyond the panel. */
const scan = gridMesh(
  (u, v) => {
    const [x, y] = [640 * u - 20, 440 * v - 20];
    return [x, y, dome(x, y)];
  },
  160,
  110,
);

/** A panel whose middle point stands out so that the surface does by `height`. */
function bulged(height: number): ControlNet {
  const net = panel(0);
  // the product of the largest values of two basis functions of degree 4: 0.375 each
  return withMoves(net, [{ spot: { row: 2, column: 2 }, by: [0, 0, height / 0.375 ** 2] }]);
}

let folder = '';
const path = (name: string): string => join(folder, name);
const write = (name: string, content: string | Uint8Array): void =>
  writeFileSync(path(name), content);
const specText = (spec: Record<string, unknown>): string =>
  JSON.stringify({ format: 'hullsight-spec', version: 1, ...spec });

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'hullsight-'));
  write('clay.ply', binaryPly(scan));
  write(
    'high.stl',
    binaryStl({ ...scan, vertices: scan.vertices.map((x, k) => (k % 3 === 2 ? x + 3 : x)) }),
  );
  write('good.net.json', netJson([{ name: 'good', net: panel(0) }]));
  write('nearly.net.json', netJson([{ name: 'nearly', net: bulged(0.95) }]));
  write('out.net.json', netJson([{ name: 'out', net: bulged(1.5) }]));
  write('reaching.net.json', netJson([{ name: 'reaching', net: panel(1) }]));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

interface Told {
  readonly run: { readonly stage: { readonly name: string; readonly release: boolean } | null };
  readonly summary: { readonly outcome: string };
  readonly panels: readonly {
    readonly name: string;
    readonly outward: string;
    readonly outcomes: Readonly<Record<string, string>>;
    readonly reasons: Readonly<Record<string, string>>;
    readonly scan?: { readonly mean: number; readonly out: { readonly value: number } | null };
  }[];
  readonly findings: readonly {
    readonly rule: string;
    readonly severity: string;
    readonly beyond: number;
    readonly direction: string | null;
    readonly limit: { readonly value: number; readonly source: string };
    readonly text: string;
  }[];
  readonly files: readonly { readonly file: string; readonly scan?: { readonly used?: boolean } }[];
}

async function told(names: readonly string[], asked: Parameters<typeof auditRun>[1] = {}) {
  const { status, printed } = await auditRun(names.map(path), {
    jobs: 1,
    ...asked,
    format: 'json',
  });
  const verdict = JSON.parse(printed) as Told;
  expect(verdictShape(verdict), JSON.stringify(verdictShape.errors)).toBe(true);
  return { status, verdict };
}

describe('a scan named with --scan', () => {
  test('is what panels are judged by, and says which side is outward', async () => {
    const { status, verdict } = await told(['good.net.json', 'out.net.json'], {
      scan: [path('clay.ply')],
      only: 'scan-distance',
    });
    expect(status).toBe(1);
    expect(verdict.panels.map(({ name, outward, outcomes }) => [name, outward, outcomes])).toEqual([
      ['good', 'scan', { 'scan-distance': 'met' }],
      ['out', 'scan', { 'scan-distance': 'missed' }],
    ]);
    expect(
      verdict.findings.map(({ rule, severity, direction }) => [rule, severity, direction]),
    ).toEqual([['scan-distance', 'moderate', 'out']]);
    expect(Math.abs(verdict.panels[1].scan!.out!.value - 1.5)).toBeLessThan(0.075);
  });

  test('is not looked at by the rules where there is none', async () => {
    const { verdict } = await told(['good.net.json'], { only: 'scan-distance' });
    expect(verdict.panels[0].outcomes).toEqual({ 'scan-distance': 'not-applicable' });
    expect(verdict.panels[0].reasons).toEqual({ 'scan-distance': 'no-scan' });
    expect(verdict.panels[0].scan).toBeUndefined();
  });

  test('that lies in the folder keeps its name there, and is read once; another one is told to be unused', async () => {
    const { verdict } = await told([''], { scan: [path('clay.ply')], only: 'scan-bias' });
    expect(
      verdict.files.filter(({ scan: own }) => own).map(({ file, scan: own }) => [file, own!.used]),
    ).toEqual([
      ['clay.ply', true],
      ['high.stl', false],
    ]);
  });

  test('that is missing leaves its rules undecided, and the run ends with 2', async () => {
    const { status, verdict } = await told(['good.net.json'], {
      scan: [path('none.stl')],
      only: 'scan-bias',
    });
    expect(status).toBe(2);
    expect(verdict.panels[0].reasons).toEqual({ 'scan-bias': 'scan-unread' });
  });

  test('that is a file of surfaces is refused', async () => {
    await expect(
      auditRun([path('good.net.json')], { scan: [path('out.net.json')] }),
    ).rejects.toThrow(/that is no scan/);
  });

  test('several are taken as one', async () => {
    const { verdict } = await told(['good.net.json'], {
      scan: [path('clay.ply'), path('high.stl')],
      only: 'scan-distance',
    });
    expect(verdict.panels[0].outcomes).toEqual({ 'scan-distance': 'met' });
    expect(verdict.files.filter(({ scan: own }) => own?.used).length).toBe(2);
  });
});

describe('the limit', () => {
  test.each([
    ['good', 'met', []],
    ['nearly', 'met', []],
    // strict: a panel that reaches the limit misses it
    ['reaching', 'missed', ['moderate']],
  ])('of 1 mm: %s is %s', async (name, outcome, severities) => {
    write('limit.json', specText({ scan: ['clay.ply'], scanTolerance: { limit: 1 } }));
    const { verdict } = await told([`${name}.net.json`], {
      spec: path('limit.json'),
      only: 'scan-distance',
    });
    expect(verdict.panels[0].outcomes).toEqual({ 'scan-distance': outcome });
    expect(verdict.findings.map(({ severity }) => severity)).toEqual(severities);
  });

  test('with a margin of a tenth, what lies in the margin is told, slight, and does not block', async () => {
    write(
      'margin.json',
      specText({ scan: ['clay.ply'], scanTolerance: { limit: 1, margin: 0.1 } }),
    );
    const { status, verdict } = await told(['nearly.net.json'], {
      spec: path('margin.json'),
      only: 'scan-distance',
    });
    expect(status).toBe(0);
    const [{ severity, beyond, text, limit }] = verdict.findings;
    expect([severity, limit]).toEqual(['slight', { value: 1, unit: 'mm', source: 'spec' }]);
    expect(beyond).toBeGreaterThan(0.9);
    expect(beyond).toBeLessThan(1);
    expect(text).toMatch(/in the margin that is to be kept free/);
  });

  test('0.9 holds a limit of 1 with a margin of a tenth', async () => {
    write('nine.net.json', netJson([{ name: 'nine', net: bulged(0.89) }]));
    const { verdict } = await told(['nine.net.json'], {
      spec: path('margin.json'),
      only: 'scan-distance',
    });
    expect(verdict.panels[0].outcomes).toEqual({ 'scan-distance': 'met' });
  });
});

describe('stages', () => {
  const stages = [
    { name: 'rough', scanTolerance: { limit: 4 } },
    { name: 'fine', scanTolerance: { limit: 1 } },
    { name: 'release', scanTolerance: { limit: 1, margin: 0.1 }, release: true },
  ];
  const rules = Object.fromEntries(
    ['surplus-build', 'section-sweep', 'highlight-kink'].map((id) => [id, { off: true }]),
  );
  beforeAll(() => write('stages.json', specText({ scan: ['clay.ply'], stages, rules })));

  test.each([
    ['rough', 'met', 4],
    ['fine', 'missed', 1],
    ['release', 'missed', 1],
  ])('%s: a panel 1.5 mm out is %s', async (stage, outcome, limit) => {
    const { verdict } = await told(['out.net.json'], {
      spec: path('stages.json'),
      stage,
      only: 'scan-distance',
    });
    expect(verdict.run.stage?.name).toBe(stage);
    expect(verdict.panels[0].outcomes).toEqual({ 'scan-distance': outcome });
    for (const finding of verdict.findings)
      expect(finding.limit).toEqual({ value: limit, unit: 'mm', source: `spec, stage ${stage}` });
  });

  test('the last counts where none is named, and only the release stage speaks of release', async () => {
    const text = async (asked: Parameters<typeof auditRun>[1]): Promise<string> =>
      (
        await auditRun([path('good.net.json')], { spec: path('stages.json'), ...asked })
      ).printed.replace(/\s+/g, ' ');
    expect(await text({})).toMatch(
      /Stage release: met for release\..*Within limits is not approval/,
    );
    expect(await text({ stage: 'fine' })).toMatch(/Stage fine: nothing is said of release\./);
    expect(await text({ stage: 'fine' })).not.toMatch(/met for release/);
    // one rule by itself releases nothing
    expect(await text({ only: 'scan-distance' })).not.toMatch(/met for release/);
  });

  test('one that is not there is refused with the nearest', async () => {
    const run = (stage: string) =>
      auditRun([path('good.net.json')], { spec: path('stages.json'), stage });
    await expect(run('fien')).rejects.toThrow(/Did you mean fine\?/);
    await expect(auditRun([path('good.net.json')], { stage: 'fine' })).rejects.toThrow(
      /there is no spec/,
    );
  });

  test('two of one name are refused', async () => {
    write('twice.json', specText({ stages: [stages[0], stages[0]] }));
    await expect(auditRun([path('good.net.json')], { spec: path('twice.json') })).rejects.toThrow(
      /two stages are called "rough"/,
    );
  });
});

test('a panel with a scan of its own is judged by that', async () => {
  write(
    'own.json',
    specText({ scan: ['clay.ply'], panels: [{ names: ['out'], scan: ['high.stl'] }] }),
  );
  const { verdict } = await told(['good.net.json', 'out.net.json'], {
    spec: path('own.json'),
    only: 'scan-bias',
  });
  const [good, out] = verdict.panels.map(({ scan: own }) => own!.mean);
  expect(Math.abs(good)).toBeLessThan(0.02);
  expect(out).toBeLessThan(-2);
});

describe.skipIf(!isBuilt)('the built command', () => {
  test('says the same by workers as in one thread', () => {
    const run = (jobs: string): string =>
      started([
        'audit',
        folder,
        '--scan',
        path('clay.ply'),
        '--only',
        'scan-distance',
        '--format',
        'json',
        '--jobs',
        jobs,
      ]).out.replace(/"at": "[^"]*"/, '');
    expect(run('1')).toBe(run('2'));
  });
});
