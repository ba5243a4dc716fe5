import { placeOver, type SheetedSurface } from './suspectFrame.ts';
import type { AimedFrame } from './aimedFrame.ts';
import { windowLengths, type TemplateFit } from './templateFit.ts';

/** How surface and scan depart from the local polynomials along a line through the wobble; mm. */
export interface WobblePicture {
  /** Along the wobble's long axis, from its top. */
  readonly at: readonly number[];
  /** Outward; null where there is no surface, or nothing of the scan. */
  readonly surface: readonly (number | null)[];
  readonly scan: readonly (number | null)[];
}

const pictureStations = 33;
/** Scan points so near to the line count for the picture: a share of the wavelength across, or so many edges. */
const stripShare = 1 / 8;
const stripEdges = 1.5;

/** Places of a line through a wobble's top along its longer wavelength; of a ridge across it. */
export function linePlaces(
  given: readonly [number, number],
  lengths: readonly [number, number],
): {
  readonly along: 0 | 1;
  readonly at: readonly number[];
  readonly places: readonly (readonly [number, number])[];
} {
  const isRidge = !given.every(Number.isFinite);
  const along = isRidge === given[0] < given[1] ? 0 : 1;
  const long = windowLengths(lengths)[along];
  const at = Array.from(
    { length: pictureStations },
    (_, k) => long * ((2 * k) / (pictureStations - 1) - 1),
  );
  return { along, at, places: at.map((t) => (along === 0 ? [t, 0] : [0, t])) };
}

/** What a designer is shown of a wobble. */
export function wobblePicture(
  surface: SheetedSurface,
  frame: AimedFrame,
  levels: TemplateFit['levels'],
  spacing: number,
): WobblePicture {
  const { lengths, points, top } = frame;
  const { along, at, places } = linePlaces(frame.suspect.lengths, lengths);
  const wide = windowLengths(lengths);
  const [run, off] = along === 0 ? [points.x, points.y] : [points.y, points.x];
  const strip = Math.max(stripShare * wide[1 - along], stripEdges * spacing);
  const half = Math.max(wide[along] / (pictureStations - 1), stripEdges * spacing);
  const own = places.map(([x, y], k) => {
    const place = placeOver(surface, frame, [top[0] + x, top[1] + y], frame.at);
    return place && place.height - levels.surface[k];
  });
  const gaps = at.map((t, station) => {
    let [count, total] = [0, 0];
    for (let k = 0; k < run.length; k++)
      if (Math.abs(run[k] - t) <= half && Math.abs(off[k]) <= strip) {
        count += 1;
        total += points.gap[k];
      }
    return count > 0 ? total / count - levels.gap[station] : null;
  });
  return {
    at,
    surface: own,
    scan: own.map((height, k) => {
      const gap = gaps[k];
      return height === null || gap === null ? null : height + gap;
    }),
  };
}
