import { lengthUnits } from '../intake/lengthUnit.ts';

/** An axis of a file, or what runs against it. */
type SignedAxis = 'x' | 'y' | 'z' | '-x' | '-y' | '-z';

/**
 * How the coordinates of a scan are read: which of its axes, with which sign, is taken for x, for y and
 * for z, and by what factor all are multiplied. [x, z, -y] reads (1, 2, 3) as (1, 3, -2).
 */
export interface ScanReading {
  readonly factor: number;
  readonly axes: readonly [SignedAxis, SignedAxis, SignedAxis];
}

export const plainReading: ScanReading = { factor: 1, axes: ['x', 'y', 'z'] };

/** Units that files are mixed up in. */
const mixedUnits = ['mm', 'cm', 'm', 'in', 'ft'];

/** 1, and by what factors a length in one unit differs from one in another; nearest to 1 first. */
function factors(): number[] {
  const sizes = mixedUnits.map((name) => lengthUnits[name].millimetres);
  const all = sizes.flatMap((size) => sizes.map((other) => size / other));
  const apart = all.filter((factor, k) =>
    all.every((f, j) => j >= k || Math.abs(f / factor - 1) > 1e-9),
  );
  return apart.sort((a, b) => Math.abs(Math.log(a)) - Math.abs(Math.log(b)) || a - b);
}

const orders = ['xyz', 'yzx', 'zxy', 'xzy', 'zyx', 'yxz'];
const signs = ['', '-'];

/** How far readings of axes are from the plain one: a turned frame is likelier than a mirrored one. */
const turnedFrame = 2;
const mirroredFrame = 3;
const otherUnit = 1.5;

/** All ways to take axes, each with how far from the plain one it is. */
function axesReadings(): { readonly axes: ScanReading['axes']; readonly apart: number }[] {
  return orders.flatMap((order, at) =>
    signs.flatMap((a) =>
      signs.flatMap((b) =>
        signs.map((c) => {
          const axes = [`${a}${order[0]}`, `${b}${order[1]}`, `${c}${order[2]}`];
          const turned = [a, b, c].filter((sign) => sign === '-').length;
          // the first three orders are even permutations
          const isMirrored = (turned + (at < 3 ? 0 : 1)) % 2 === 1;
          const isPlain = at === 0 && turned === 0;
          // by the number of signs within a kind
          const kind = isPlain ? 0 : isMirrored ? mirroredFrame : turnedFrame;
          return { axes: axes as unknown as ScanReading['axes'], apart: kind + turned / 100 };
        }),
      ),
    ),
  );
}

/**
 * Every reading of a scan but the plain one, by units and by axes (24 turned frames, 24 mirrored ones): the
 * likelier first.
 */
export const otherReadings: readonly ScanReading[] = factors()
  .flatMap((factor) =>
    axesReadings().map(({ axes, apart }) => ({
      reading: { factor, axes },
      apart: apart + (factor === 1 ? 0 : otherUnit),
    })),
  )
  .filter(({ apart }) => apart > 0)
  .sort((a, b) => a.apart - b.apart)
  .map(({ reading }) => reading);

/** Places (or, without the factor, directions) of the job's frame in the scan's own numbers. */
export function inScan(
  { factor, axes }: ScanReading,
  places: Float64Array,
  shift: readonly [number, number, number] = [0, 0, 0],
): Float64Array {
  const found = new Float64Array(places.length);
  axes.forEach((name, axis) => {
    const to = 'xyz'.indexOf(name[name.length - 1]);
    const by = name.length > 1 ? -factor : factor;
    for (let at = 0; at < places.length; at += 3)
      found[at + to] = (places[at + axis] - shift[axis]) / by;
  });
  return found;
}
