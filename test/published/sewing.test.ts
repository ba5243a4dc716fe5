// The joins that are found between the panels of real files against those that the sewing of a general
// geometry kernel (opencascade.js, BRepBuilderAPI_Sewing) makes of the same faces.
import { beforeAll, describe, expect, test } from 'vitest';
import { diagonal } from '../../src/geometry/controlNet.ts';
import { edgeImage } from '../../src/geometry/edgeImage.ts';
import { surfacePoint } from '../../src/geometry/evaluation.ts';
import { domain } from '../../src/geometry/knots.ts';
import { outlineEdges } from '../../src/geometry/outlineEdges.ts';
import { distance, type Vector } from '../../src/geometry/vector.ts';
import { readSurfaces } from '../../src/intake/readSurfaces.ts';
import { joins, type Join, type Outline } from '../../src/measure/joins.ts';
import { corpusBytes, corpusFolder } from '../corpus.ts';
import { loaded } from './oracleKernel.ts';
import { sewnFaces, type SewnFaces } from './sewnEdges.ts';

function outlinesOf(file: string): Outline[] {
  const { panels } = readSurfaces(file, corpusBytes(`surfaces/${file}`));
  return panels.map(({ net, trim }) => ({
    net,
    edges: outlineEdges(net, { region: trim.kind === 'part' ? trim.region : null, keep: [] }),
  }));
}

function middleOf({ net }: Outline): Vector {
  const [u, v] = [0, 1].map((side) => {
    const [from, to] = domain(net.knots[side], net.degree[side]);
    return (from + to) / 2;
  });
  return surfacePoint(net, u, v);
}

describe.skipIf(corpusFolder === null).each([
  { file: 'airliner-wing.igs', tolerance: 0.01, ownBorders: false },
  { file: 'airliner-wing.igs', tolerance: 1, ownBorders: false },
  { file: 'ship-half.iges', tolerance: 1, ownBorders: false },
  // the kernel takes the borders of a STEP file from space, and projects them by itself
  { file: 'ship-half.step', tolerance: 1, ownBorders: true },
])('$file, sewn within $tolerance mm', ({ file, tolerance, ownBorders }) => {
  let outlines: Outline[] = [];
  let found: Join[] = [];
  let sewn: SewnFaces = { faces: [], edges: [] };
  beforeAll(async () => {
    outlines = outlinesOf(file);
    found = joins(outlines, tolerance);
    sewn = sewnFaces(
      await loaded(),
      corpusBytes(`surfaces/${file}`),
      file.endsWith('.step') ? 'step' : 'iges',
      tolerance,
    );
  }, 60_000);

  /** The panel that a face is, or null for one on no B-spline. */
  const panelOf = (face: number): number | null => {
    const { isSpline, middle } = sewn.faces[face];
    return isSpline ? outlines.findIndex((own) => distance(middleOf(own), middle) < 1e-6) : null;
  };
  const middleOfJoin = ({ a: { panel, edge, from, to } }: Join): Vector =>
    edgeImage(outlines[panel].net, outlines[panel].edges[edge].curve).at((from + to) / 2).point;

  test('the same panels are joined along the same edges, and the gaps agree', () => {
    const size = Math.max(...outlines.map(({ net }) => diagonal(net)));
    const wanted = sewn.edges.filter(({ faces }) => faces.every((face) => panelOf(face) !== null));
    expect(wanted.length).toBeGreaterThanOrEqual(2);
    const left = new Set(found);
    for (const { faces, length, gap, distanceOf } of wanted) {
      const panels = faces.map(panelOf).toSorted((a, b) => a! - b!);
      // an edge of the kernel may run on across a corner, where ours are parted
      const own = found.filter(
        (join) =>
          join.a.panel === panels[0] &&
          join.b.panel === panels[1] &&
          distanceOf(middleOfJoin(join)) <= tolerance,
      );
      own.forEach((join) => left.delete(join));
      const total = own.reduce((sum, join) => sum + join.length, 0);
      expect(Math.abs(total - length)).toBeLessThan(2 * tolerance);
      const most = Math.max(...own.map((join) => join.gap));
      if (ownBorders) expect(most).toBeLessThanOrEqual(tolerance);
      else expect(Math.abs(most - gap)).toBeLessThan(1e-6 * size);
    }
    expect([...left]).toEqual([]);
  });
});
