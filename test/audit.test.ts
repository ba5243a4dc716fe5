import fc from 'fast-check';
import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { resolve } from 'node:path';
import { describe, expect, test } from 'vitest';
import { clay } from '../fixtures/clay.ts';
import { plantedFaults, ternwingPanels } from '../fixtures/demo/ternwing.ts';
import { binaryStl, textPly } from '../fixtures/meshFiles.ts';
import { netJson } from '../fixtures/netJson.ts';
import { auditedFile } from '../src/audit.ts';
import { reversed, transposed, type ControlNet } from '../src/geometry/controlNet.ts';
import { axisPlacement, inPlace, placedNet, type Placement } from '../src/geometry/placement.ts';
import { meshBox } from '../src/geometry/mesh.ts';
import { distance, type Vector } from '../src/geometry/vector.ts';
import { briefOf } from '../src/rules/brief.ts';
import type { Site } from '../src/rules/rule.ts';
import { specOf, type Spec } from '../src/rules/spec.ts';
import type { Finding } from '../src/verdict/finding.ts';
import type { JudgedFile } from '../src/verdict/judgedFile.ts';
import { verdictShape } from '../src/verdict/verdict.generated.js';
import { verdictOf } from '../src/verdict/verdict.ts';
import { jsonVerdict } from '../src/writers/jsonVerdict.ts';
import { textVerdict } from '../src/writers/textVerdict.ts';
import { corpusBytes, corpusFolder } from './corpus.ts';
import { slowSource } from './intake/scanOf.ts';
import { reversedSite, transposedSite } from './netSites.ts';

const demo = resolve(import.meta.dirname, '../fixtures/demo');
const spec = specOf(readFileSync(resolve(demo, 'job/hullsight.json'), 'utf8')) as Spec;
const orderOf = (own: Spec) => briefOf({ spec: own, ownRules: [], only: null });

function audited(name: string, bytes: Uint8Array, own: Spec = {}): JudgedFile {
  return auditedFile({ name, bytes }, orderOf(own));
}

const auditedNet = (net: ControlNet, own: Spec = {}): JudgedFile =>
  audited('one.net.json', Buffer.from(netJson([{ name: 'one', net }])), own);

const findings = (file: JudgedFile): Finding[] => file.panels.flatMap((panel) => panel.findings);

describe('the demo job', () => {
  const files = ['front.igs', 'flanks.stp', 'back.net.json'].map((name) =>
    audited(name, readFileSync(resolve(demo, 'job', name)), spec),
  );
  const all = files.flatMap(findings);
  const panels = files.flatMap((file) => file.panels);

  test('reads six panels without a fault', () => {
    expect(panels.map(({ name }) => name).sort()).toEqual(
      ['flank-left', 'flank-right', 'hood', 'nose', 'spine', 'tail'].sort(),
    );
    expect(files.flatMap(({ faults }) => faults)).toEqual([]);
    expect(panels.map(({ outward }) => outward)).toEqual(Array(6).fill('spec'));
  });

  test.each(plantedFaults().filter(({ id }) => ['point-jut', 'point-drift'].includes(id)))(
    'finds the planted $id on $panel at its point, with the right direction and nudge',
    (planted) => {
      const { spot, by } = planted.moves[0];
      const found = all.find(({ rule, panel }) => rule === planted.id && panel === planted.panel)!;
      expect(found.miss.site).toEqual({ kind: 'point', ...spot });
      expect(found.certainty).toBe('named');
      expect(['severe', 'moderate']).toContain(found.severity);
      if (planted.id === 'point-jut') expect(found.miss.direction).toBe('out');
      const nudge = found.nudge!;
      const size = Math.hypot(...by);
      const left = Math.hypot(...by.map((x, axis) => x + nudge.vector[axis]));
      expect(left / size).toBeLessThan(0.2);
      expect(nudge.leaves / size).toBeLessThan(0.2);
    },
  );

  test('finds the sagging row on the left flank, with a move for each of its points', () => {
    const planted = plantedFaults().find(({ id }) => id === 'hull-jut')!;
    const found = all.find(({ rule, panel }) => rule === 'hull-jut' && panel === planted.panel)!;
    expect(found.miss.site).toEqual({ kind: 'row', row: planted.moves[0].spot.row });
    expect([found.certainty, found.miss.direction]).toEqual(['named', 'in']);
    expect(['severe', 'moderate']).toContain(found.severity);
    const { moves, leaves } = found.nudge!;
    expect(moves.map(({ row, column }) => ({ row, column }))).toEqual(
      planted.moves.map(({ spot }) => spot),
    );
    moves.forEach(({ by }, k) => {
      const left = Math.hypot(...planted.moves[k].by.map((x, axis) => x + by[axis]));
      expect(left / Math.hypot(...planted.moves[k].by)).toBeLessThan(0.2);
    });
    expect(leaves).toBeLessThan(0.2);
  });

  test('finds the bunched column on the spine', () => {
    const planted = plantedFaults().find(({ id }) => id === 'spacing-ratio')!;
    const found = all.find(({ rule, panel }) => rule === 'spacing-ratio' && panel === 'spine')!;
    expect(found.miss.site).toEqual({ kind: 'column', column: planted.moves[0].spot.column });
    expect(['severe', 'moderate']).toContain(found.severity);
  });

  test('names no other severe or moderate jut or drift, of a point or of a line', () => {
    const named = all.filter(
      ({ rule, severity }) =>
        ['point-jut', 'point-drift', 'hull-jut'].includes(rule) && severity !== 'slight',
    );
    expect(named.map(({ panel, rule }) => `${panel} ${rule}`).sort()).toEqual([
      'flank-left hull-jut',
      'hood point-jut',
      'tail point-drift',
    ]);
  });

  test('finds nothing severe on a panel without a planted net fault', () => {
    const faulty = new Set(
      plantedFaults()
        .filter(({ moves }) => moves.length > 0)
        .map(({ panel }) => panel),
    );
    expect(
      all.filter(({ severity, panel }) => severity === 'severe' && !faulty.has(panel)),
    ).toEqual([]);
  });

  test('finds nothing severe or moderate on the job before the faults were planted', () => {
    const clean = ternwingPanels({ clean: true }).flatMap(({ net }) =>
      findings(auditedNet(net, spec)),
    );
    expect(clean.filter(({ severity }) => severity !== 'slight').map(({ rule }) => rule)).toEqual(
      [],
    );
  });

  test('gives the same findings from IGES, STEP, VDA-FS and JSON', () => {
    const seen = ['ternwing-3.igs', 'ternwing-3.stp', 'ternwing-3.vda', 'ternwing-3.net.json'].map(
      (name) =>
        findings(audited(name, readFileSync(resolve(demo, 'same', name)), spec)).map(
          ({ id, rule, severity, panel, miss }) => [
            id,
            rule,
            severity,
            panel,
            miss.value.toPrecision(6),
          ],
        ),
    );
    expect(seen[0].length).toBeGreaterThan(0);
    for (const other of seen.slice(1)) expect(other).toEqual(seen[0]);
  });
});

/** A change of a net that must change only coordinates, and what becomes of a spot. */
interface Change {
  readonly net: (net: ControlNet) => ControlNet;
  readonly site: (site: Site, net: ControlNet) => Site;
}

const swap: Change = { net: transposed, site: transposedSite };
const backwards: Change = { net: reversed, site: reversedSite };

const coordinate = fc.double({ min: -1, max: 1, noNaN: true });
const direction = fc
  .tuple(coordinate, coordinate, coordinate)
  .filter((v) => Math.hypot(...v) > 0.1) as unknown as fc.Arbitrary<Vector>;

const placement = fc
  .tuple(fc.tuple(coordinate, coordinate, coordinate), direction, direction)
  .map(([shift, axis, reference]) =>
    axisPlacement(shift.map((x) => 3000 * x) as unknown as Vector, axis, reference),
  )
  .filter((p): p is Placement => p !== null);

/** x to -x, or nothing. */
const mirrored = fc.boolean().map((yes): Placement => ({
  rotation: [
    [yes ? -1 : 1, 0, 0],
    [0, 1, 0],
    [0, 0, 1],
  ],
  shift: [0, 0, 0],
}));

/** What is said of a net, in an order of its own: rule, site, severity, side, certainty. */
function said(file: JudgedFile, back: (site: Site) => Site = (site) => site): string[] {
  const canonical = (site: Site): string =>
    site.kind === 'points'
      ? `points ${site.points
          .map(({ row, column }) => `${row},${column}`)
          .sort()
          .join(' ')}`
      : JSON.stringify(site, Object.keys(site).sort());
  return findings(file)
    .map(({ rule, severity, certainty, curedBy, miss }) =>
      [
        rule,
        canonical(back(miss.site)),
        severity,
        certainty,
        miss.direction ?? '-',
        curedBy === null ? 'own' : 'cured',
        miss.value.toPrecision(4),
      ].join(' '),
    )
    .sort();
}

describe.skipIf(!corpusFolder)('on real nets', () => {
  test.each(['nets/king-biquintic.net.json', 'nets/teapot-bicubic.net.json'])(
    '%s: a point is named only where its nudge, measured again, takes most of it away',
    (file) => {
      const nudged = findings(audited(file, corpusBytes(file))).filter(({ nudge }) => nudge);
      for (const { nudge, certainty, severity } of nudged) {
        const left = nudge!.leaves / Math.hypot(...nudge!.vector);
        if (left > 0.3) expect([certainty, severity]).toEqual(['uncertain', 'slight']);
        if (certainty === 'named') expect(left).toBeLessThanOrEqual(0.3);
      }
      expect(file.includes('king') ? nudged.length : 1).toBeGreaterThan(0);
    },
  );

  test('a rational egg, smooth but for its poles, has no break inside', () => {
    const egg = audited('egg.net.json', corpusBytes('nets/egg-rational.net.json'));
    expect(egg.panels[0].outcomes['inner-break']).toBe('met');
    expect(egg.panels[0].outcomes['collapsed-edge']).toBe('missed');
  });
});

/** Sections stand across the model's axes: they cut elsewhere once a panel is turned (see its rule's table). */
const panelsOwn: Spec = { rules: { 'section-sweep': { off: true } } };

describe('moving, turning, mirroring, swapping u and v, and reversing change no judgement', () => {
  const nets = ternwingPanels();
  test.each(nets.map(({ name, net }) => [name, net] as const))('%s', (_, net) => {
    const before = auditedNet(net, panelsOwn);
    fc.assert(
      fc.property(
        placement,
        mirrored,
        fc.subarray([swap, backwards]),
        fc.constantFrom('mm', 'in', 'm'),
        (place, mirror, changes, units) => {
          let changed = net;
          let back = (site: Site): Site => site;
          for (const change of changes) {
            const from = changed;
            const outer = back;
            changed = change.net(changed);
            // swap and backwards undo themselves
            back = (site) => outer(change.site(site, change.net(from)));
          }
          const moved = placedNet(placedNet(changed, mirror), place);
          const scale = { mm: 1, in: 25.4, m: 1000 }[units];
          const text = netJson([{ name: 'one', net: placedNet(moved, inPlace, 1 / scale) }]);
          const file = audited(
            'one.net.json',
            Buffer.from(text.replace('"units": "mm"', `"units": "${units}"`)),
            panelsOwn,
          );
          expect(said(file, back)).toEqual(said(before));
          expect(file.panels[0].outcomes).toEqual(before.panels[0].outcomes);
        },
      ),
      { numRuns: 12 },
    );
  });
});

describe('a scan', () => {
  const body = clay(8);
  const scans = [
    ['clay.stl', binaryStl(body)],
    ['clay.ply', textPly(body)],
    ['cloud.ply', textPly({ vertices: body.vertices, triangles: new Uint32Array() })],
  ] as const;
  const files = scans.map(([name, bytes]) => audited(name, bytes));

  test('is listed with what it holds, and judged by no rule', () => {
    const counts = { vertices: body.vertices.length / 3, triangles: body.triangles.length / 3 };
    expect(files).toMatchObject([
      { format: 'stl', scan: { counts }, panels: [], faults: [], notices: [] },
      { format: 'ply', scan: { counts }, panels: [], faults: [], notices: [] },
      {
        format: 'ply',
        scan: { counts: { ...counts, triangles: 0 } },
        notices: [{ code: 'points-only' }],
      },
    ]);
    const { low, high } = meshBox(body);
    for (const { scan } of files) expect(scan!.diagonal).toBe(distance(low, high));
  });

  test('has the checksum of its bytes, also where they come piece by piece', () => {
    const [, bytes] = scans[0];
    const streamed = auditedFile(
      { name: 'clay.stl', scan: slowSource(bytes, 1000), most: 2 ** 30 },
      orderOf({}),
    );
    expect(streamed).toEqual(files[0]);
    expect(streamed.sha256).toBe(createHash('sha256').update(bytes).digest('hex'));
  });

  test('stands in the verdict: JSON with its counts, text with a line', () => {
    const verdict = verdictOf(files, 'moderate', {
      tool: 'test',
      at: '2026-01-01T00:00:00Z',
      spec: null,
      switchedOff: [],
      unfitted: [],
      learned: '0'.repeat(64),
    });
    const json = JSON.parse(jsonVerdict(verdict, [])) as { files: { scan?: object }[] };
    expect(verdictShape(json), JSON.stringify(verdictShape.errors)).toBe(true);
    expect(json).toMatchObject({
      summary: { files: 3, scans: 3, panels: 0, outcome: 'undecided' },
      files: [
        { file: 'clay.ply', scan: { triangles: 224, vertices: 114, faces: 224, duplicate: 0 } },
        { file: 'clay.stl', format: 'stl', units: 'mm', panels: 0, scan: { triangles: 224 } },
        { file: 'cloud.ply', scan: { triangles: 0, vertices: 114 } },
      ],
      notices: [{ file: 'cloud.ply', code: 'points-only' }],
    });
    const text = textVerdict(verdict, [], { width: 80, styled: false }).replace(/\s+/g, ' ');
    expect(text).toMatch(
      /clay\.stl: scan, 224 triangles, \d+\.\d\d mm across, read as millimetres; no panel is judged by it/,
    );
    expect(text).toContain('0 panels in 0 files and 3 scans: undecided: no panel to judge.');
  });
});
