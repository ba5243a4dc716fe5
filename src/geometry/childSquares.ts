import type { TreeBranches } from './treeBranches.ts';

/**
 * Puts the squares of the distances from a place to the four boxes of a branch into `squares`, mm^2: of
 * a child that is not there it is some number. They may be too large by rounding, as of lengths as the
 * mesh is large.
 *
 * This is where much of the time goes. So it is written out where a loop over children or axes would be
 * shorter, and with numbers where names of `TreeBranches` would tell more: to read a constant of another
 * module costs as much as to compare two numbers. Sums of whole numbers are cut to 32 bits, so that none
 * is looked at for whether it still fits.
 */
export function putChildSquares(
  { floats, words }: TreeBranches,
  branch: number,
  place: Float64Array,
  squares: Float64Array,
): void {
  const word = (branch * 24) | 0;
  const px = place[0] - floats[word];
  const py = place[1] - floats[(word + 1) | 0];
  const pz = place[2] - floats[(word + 2) | 0];
  const x = px * floats[(word + 3) | 0] + py * floats[(word + 4) | 0] + pz * floats[(word + 5) | 0];
  const y = px * floats[(word + 6) | 0] + py * floats[(word + 7) | 0] + pz * floats[(word + 8) | 0];
  const z =
    px * floats[(word + 9) | 0] + py * floats[(word + 10) | 0] + pz * floats[(word + 11) | 0];
  // of what follows twice is taken
  const unit = 0.25 * floats[(word + 12) | 0];
  const mx = words[(word + 13) | 0];
  const my = words[(word + 14) | 0];
  const mz = words[(word + 15) | 0];
  const hx = words[(word + 16) | 0];
  const hy = words[(word + 17) | 0];
  const hz = words[(word + 18) | 0];
  const x0 = Math.abs(x - (mx & 255)) - (hx & 255);
  const y0 = Math.abs(y - (my & 255)) - (hy & 255);
  const z0 = Math.abs(z - (mz & 255)) - (hz & 255);
  const x1 = Math.abs(x - ((mx >>> 8) & 255)) - ((hx >>> 8) & 255);
  const y1 = Math.abs(y - ((my >>> 8) & 255)) - ((hy >>> 8) & 255);
  const z1 = Math.abs(z - ((mz >>> 8) & 255)) - ((hz >>> 8) & 255);
  const x2 = Math.abs(x - ((mx >>> 16) & 255)) - ((hx >>> 16) & 255);
  const y2 = Math.abs(y - ((my >>> 16) & 255)) - ((hy >>> 16) & 255);
  const z2 = Math.abs(z - ((mz >>> 16) & 255)) - ((hz >>> 16) & 255);
  const x3 = Math.abs(x - (mx >>> 24)) - (hx >>> 24);
  const y3 = Math.abs(y - (my >>> 24)) - (hy >>> 24);
  const z3 = Math.abs(z - (mz >>> 24)) - (hz >>> 24);
  // twice what is positive of each, without a branch
  const a0 = x0 + Math.abs(x0);
  const b0 = y0 + Math.abs(y0);
  const c0 = z0 + Math.abs(z0);
  const a1 = x1 + Math.abs(x1);
  const b1 = y1 + Math.abs(y1);
  const c1 = z1 + Math.abs(z1);
  const a2 = x2 + Math.abs(x2);
  const b2 = y2 + Math.abs(y2);
  const c2 = z2 + Math.abs(z2);
  const a3 = x3 + Math.abs(x3);
  const b3 = y3 + Math.abs(y3);
  const c3 = z3 + Math.abs(z3);
  squares[0] = unit * (a0 * a0 + b0 * b0 + c0 * c0);
  squares[1] = unit * (a1 * a1 + b1 * b1 + c1 * c1);
  squares[2] = unit * (a2 * a2 + b2 * b2 + c2 * c2);
  squares[3] = unit * (a3 * a3 + b3 * b3 + c3 * c3);
}
