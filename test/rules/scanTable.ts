import { readFileSync } from 'node:fs';
import { resolve } from 'node:path';
import { describe, expect, test } from 'vitest';
import type { ControlNet } from '../../src/geometry/controlNet.ts';
import type { Mesh } from '../../src/geometry/mesh.ts';
import { scanBody } from '../../src/geometry/scanBody.ts';
import { vectorAt } from '../../src/geometry/vector.ts';
import { bufferSource } from '../../src/intake/byteSource.ts';
import { readScan } from '../../src/intake/readScan.ts';
import { catalogue } from '../../src/rules/catalogue.ts';
import { thresholdsOf, type Judgement, type Site } from '../../src/rules/rule.ts';
import { subjectOf, type PanelScan } from '../../src/rules/subject.ts';
import { changes, fixtureNet } from './ruleTable.ts';

const fixtureScan = (id: string): Mesh =>
  readScan(
    'scan.ply',
    bufferSource(readFileSync(resolve(import.meta.dirname, `../../fixtures/rules/${id}/scan.ply`))),
    { millimetres: 1, most: Infinity },
  ).mesh!;

/** A mesh changed as its points would be as a net's, its front kept in front. */
function changedMesh({ vertices, triangles }: Mesh, change: (net: ControlNet) => ControlNet): Mesh {
  const net: ControlNet = {
    degree: [1, 1],
    knots: [Float64Array.from([0, 0, 1, 1]), Float64Array.from([0, 0, 1, 1])],
    columns: vertices.length / 3,
    rows: 1,
    points: vertices,
    weights: null,
  };
  const points = new Float64Array(vertices.length);
  // one point at a time: a change of rows and columns leaves it alone
  for (let k = 0; k < vertices.length / 3; k++)
    points.set(
      change({ ...net, columns: 1, points: Float64Array.from(vectorAt(vertices, k)) }).points,
      3 * k,
    );
  return { vertices: points, triangles };
}

const turnedRound = ({ vertices, triangles }: Mesh): Mesh => ({
  vertices,
  triangles: triangles.map((_, k) => triangles[k % 3 === 0 ? k : k % 3 === 1 ? k + 1 : k - 1]),
});

export const scanJudgement = (id: string, net: ControlNet, scan: PanelScan | null): Judgement => {
  const { data, judge } = catalogue.find((rule) => rule.data.id === id)!;
  return judge(subjectOf(net, { scan }), thresholdsOf(data, 'A'));
};

export interface ExpectedScan {
  readonly site: (site: Site) => void;
  readonly value: number;
  readonly within: number;
  readonly direction?: 'out' | 'in';
}

/** The table of one rule on scans: its good and its bad panel, with the scan, under every change that must not matter. */
export function scanTable(id: string, expected: ExpectedScan): void {
  const scan = fixtureScan(id);
  describe.each(changes)(`${id}, $name`, ({ name, net }) => {
    const moved = changedMesh(scan, net);
    const body = scanBody(name === 'mirrored' ? turnedRound(moved) : moved);

    test('meets its limit where the panel lies on the scan', () => {
      expect(scanJudgement(id, net(fixtureNet(id, 'met')), { body, limit: 1, margin: 0 })).toEqual({
        outcome: 'met',
      });
    });

    test('misses it, by the right amount', () => {
      const result = scanJudgement(id, net(fixtureNet(id, 'missed')), {
        body,
        limit: 1,
        margin: 0,
      });
      if (result.outcome !== 'missed') throw new Error(`outcome is ${result.outcome}`);
      expect(result.misses.length).toBe(1);
      const [miss] = result.misses;
      expect(Math.abs(miss.value - expected.value)).toBeLessThanOrEqual(expected.within);
      expect(miss.direction).toBe(expected.direction);
      expected.site(miss.site);
    });
  });

  test(`${id} does not apply without a scan, and is undecided where it could not be read`, () => {
    const net = fixtureNet(id, 'met');
    expect(scanJudgement(id, net, null)).toEqual({ outcome: 'not-applicable', reason: 'no-scan' });
    expect(scanJudgement(id, net, { body: null, limit: 1, margin: 0 })).toEqual({
      outcome: 'undecided',
      reason: 'scan-unread',
    });
  });
}
