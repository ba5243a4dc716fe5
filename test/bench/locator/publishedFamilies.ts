import type { SeededRandom } from '../../../fixtures/seededRandom.ts';
import { distance } from '../../../src/geometry/vector.ts';
import { diagonal, lines, type ControlNet } from '../../../src/geometry/controlNet.ts';
import { pieces } from '../../../src/geometry/pieces.ts';
import { readSurfaces } from '../../../src/intake/readSurfaces.ts';
import { corpusBytes, corpusFolder } from '../../corpus.ts';

/** Nets that others published, drawn from a list; `nets` in the order of the files. */
export interface PublishedFamily {
  readonly name: string;
  readonly kind: 'published';
  readonly nets: readonly ControlNet[];
  readonly net: (random: SeededRandom) => ControlNet;
}

const files: Readonly<Record<string, readonly string[]>> = {
  teapot: ['nets/teapot-bicubic.net.json'],
  king: ['nets/king-biquintic.net.json'],
  ships: ['surfaces/ship-bow.iges', 'surfaces/ship-half.iges', 'surfaces/slim-hull.iges'],
  wing: ['surfaces/airliner-wing.igs'],
};

/** Larger pieces would take most of the run's time by themselves. */
const mostPoints = 150;

/** Can be judged at all: four points a side, and no two neighbours in one place. */
function judgeable(net: ControlNet): boolean {
  if (Math.min(net.rows, net.columns) < 4 || net.rows * net.columns > mostPoints) return false;
  const least = 1e-6 * diagonal(net);
  return lines(net).every(({ points }) =>
    points.every((point, k) => k === 0 || distance(point, points[k - 1]) > least),
  );
}

/**
 * The nets of the corpus, cut where they may break (ships). Empty where the corpus is absent. The
 * wing's files of degree 1 across and the three-row rational egg have no net of four by four.
 */
export const publishedFamilies = (): PublishedFamily[] =>
  corpusFolder === null
    ? []
    : Object.entries(files).map(([name, paths]) => {
        const nets = paths
          .flatMap((path) => readSurfaces(path, corpusBytes(path)).panels)
          .flatMap((panel) => pieces(panel.net).map((piece) => piece.net))
          .filter(judgeable);
        return { name, kind: 'published', nets, net: (random) => nets[random.index(nets.length)] };
      });
