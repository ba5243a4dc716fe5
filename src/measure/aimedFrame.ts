import { aimedTemplate, type SurfacePoints } from './aimedTemplate.ts';
import { placeOver, type SheetedSurface, type SuspectFrame } from './suspectFrame.ts';
import { taper, windowLengths, type Template, type WindowPoints } from './templateFit.ts';
import { wideWindow } from './wobbleShare.ts';

/** A suspect's window, and the bump in it that the surface shows best. */
export interface AimedFrame extends SuspectFrame {
  /** About its top. */
  readonly points: WindowPoints;
  /** In the frame's axes. */
  readonly top: readonly [number, number];
  readonly lengths: readonly [number, number];
}

/** How far from a suspect's place, and how much longer or shorter than it says, its bump is sought. */
const leeway = { way: 0.25, factor: 1.5 } as const;

/** Places of the surface to each side of a suspect, along each axis, that are looked at to aim. */
const aimingPlaces = 13;

/** The surface over a grid of a suspect's window, as far as it goes on from the middle. */
function surfacePoints(surface: SheetedSurface, frame: SuspectFrame): SurfacePoints {
  const wide = windowLengths(frame.suspect.lengths);
  const gaps = wide.map((wave) => (wideWindow.reach * wave) / aimingPlaces);
  const points: (readonly [number, number, number])[] = [];
  const seen = new Set<string>();
  const waiting: { i: number; j: number; start: readonly [number, number] }[] = [];
  const ask = (i: number, j: number, start: readonly [number, number]): void => {
    const key = `${i} ${j}`;
    if (seen.has(key) || taper(wide, wideWindow, i * gaps[0], j * gaps[1]) === 0) return;
    seen.add(key);
    waiting.push({ i, j, start });
  };
  ask(0, 0, frame.at);
  for (let k = 0; k < waiting.length; k++) {
    const { i, j, start } = waiting[k];
    const [x, y] = [i * gaps[0], j * gaps[1]];
    const place = placeOver(surface, frame, [x, y], start);
    if (!place) continue;
    points.push([x, y, place.height]);
    for (const [di, dj] of [
      [1, 0],
      [-1, 0],
      [0, 1],
      [0, -1],
    ])
      ask(i + di, j + dj, place.at);
  }
  return {
    x: Float64Array.from(points, ([x]) => x),
    y: Float64Array.from(points, ([, y]) => y),
    height: Float64Array.from(points, ([, , height]) => height),
  };
}

/** A suspect's window with its axes' origin moved to the bump that the surface shows best near it. */
export function aimedFrame(
  surface: SheetedSurface,
  frame: SuspectFrame,
  points: WindowPoints,
  beside: readonly Template[],
): AimedFrame {
  const { at, lengths } = aimedTemplate(
    surfacePoints(surface, frame),
    frame.suspect.lengths,
    beside,
    wideWindow,
    leeway,
  );
  const [x, y] = at;
  const moved = { ...points, x: points.x.map((v) => v - x), y: points.y.map((v) => v - y) };
  return { ...frame, points: moved, top: at, lengths };
}
