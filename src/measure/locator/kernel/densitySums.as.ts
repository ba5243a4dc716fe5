// AssemblyScript: compiled to WebAssembly by .ci/kernel.mjs. The one loop the locator lives in, with
// the temperaments of the mixture in the lanes of a vector.

/** Bytes of one entry of the table of densities: ln densities of three temperaments, and a spare. */
const entry: usize = 16;

/**
 * Writes ln densities of one coefficient at the variances of some nodes: table entries of two rows,
 * `share` of the way from the one to the other. `nodes` are 16-bit, from node `first` of the table.
 */
function writeColumn(
  row: usize,
  next: usize,
  share: f32,
  nodes: usize,
  nodeCount: i32,
  first: i32,
  last: i32,
  column: usize,
): void {
  const part = f32x4.splat(share);
  for (let k = 0; k < nodeCount; k++) {
    let x = <i32>load<i16>(nodes + ((<usize>k) << 1)) - first;
    x = x < 0 ? 0 : x > last ? last : x;
    const at = <usize>x * entry;
    const low = v128.load(row + at);
    const high = v128.load(next + at);
    v128.store(column + <usize>k * entry, f32x4.add(low, f32x4.mul(part, f32x4.sub(high, low))));
  }
}

/**
 * sums[p] = sum over the coefficients c of column_c[steps[c * count + p]], four temperaments wide.
 * `rows` and `shares` say for each coefficient where its square stands in the table, `starts` where
 * its nodes begin in `nodes` (32-bit, one more than coefficients), `steps` are byte offsets / 16.
 */
export function addUp(
  count: i32,
  coefficients: i32,
  steps: usize,
  nodes: usize,
  starts: usize,
  rows: usize,
  shares: usize,
  rowLength: i32,
  first: i32,
  last: i32,
  columns: usize,
  segment: i32,
  sums: usize,
): void {
  for (let p = 0; p < count; p++) v128.store(sums + <usize>p * entry, f32x4.splat(0));
  const rowBytes = <usize>rowLength * entry;
  const stepBytes = (<usize>count) << 1;
  const wide = <usize>segment * entry;
  for (let c = 0; c < coefficients; c += 4) {
    const now = coefficients - c < 4 ? coefficients - c : 4;
    for (let q = 0; q < now; q++) {
      const own = (<usize>(c + q)) << 2;
      const row = <usize>load<i32>(rows + own) * entry;
      const start = load<i32>(starts + own);
      writeColumn(
        row,
        row + rowBytes,
        load<f32>(shares + own),
        nodes + ((<usize>start) << 1),
        load<i32>(starts + own + 4) - start,
        first,
        last,
        columns + <usize>q * wide,
      );
    }
    const a = steps + <usize>c * stepBytes;
    if (now == 4) {
      const b = a + stepBytes;
      const d = b + stepBytes;
      const e = d + stepBytes;
      const two = columns + wide;
      const three = two + wide;
      const four = three + wide;
      for (let p = 0; p < count; p++) {
        const at = (<usize>p) << 1;
        const to = sums + ((<usize>p) << 4);
        const left = f32x4.add(
          v128.load(columns + ((<usize>load<u16>(a + at)) << 4)),
          v128.load(two + ((<usize>load<u16>(b + at)) << 4)),
        );
        const right = f32x4.add(
          v128.load(three + ((<usize>load<u16>(d + at)) << 4)),
          v128.load(four + ((<usize>load<u16>(e + at)) << 4)),
        );
        v128.store(to, f32x4.add(v128.load(to), f32x4.add(left, right)));
      }
    } else {
      for (let q = 0; q < now; q++) {
        const from = a + <usize>q * stepBytes;
        const column = columns + <usize>q * wide;
        for (let p = 0; p < count; p++) {
          const to = sums + ((<usize>p) << 4);
          const own = v128.load(column + ((<usize>load<u16>(from + ((<usize>p) << 1))) << 4));
          v128.store(to, f32x4.add(v128.load(to), own));
        }
      }
    }
  }
}
