/**
 * Decimal numbers read straight from bytes, without making a string for each. Up to 15 digits and
 * a power of ten up to 22 one multiplication or division of two exact doubles gives the nearest
 * double (Clinger, "How to read floating point numbers accurately", 1990, the fast case; from
 * memory); anything else goes through Number(), which is exact for every length.
 */
const powers = Float64Array.from({ length: 23 }, (_, k) => Number(`1e${k}`));

const zero = 48;
const nine = 57;
const plus = 43;
const minus = 45;
const point = 46;

/** A value and the offset just behind it. One object, refilled by each call: read it at once. */
export const scanned = { value: 0, end: 0 };

/**
 * Reads one real or integer number that starts at `at`; at most up to `limit`. An exponent may be
 * marked E or D in either case (D is Fortran's double precision, which IGES uses). On success fills
 * `scanned` and returns true; false where no number starts there.
 */
export function scanDecimal(bytes: Uint8Array, at: number, limit: number): boolean {
  let i = at;
  let negative = false;
  if (i < limit && (bytes[i] === minus || bytes[i] === plus)) negative = bytes[i++] === minus;
  let mantissa = 0;
  let digits = 0;
  let seen = 0;
  let shift = 0;
  let c = i < limit ? bytes[i] : 0;
  while (c >= zero && c <= nine) {
    if (digits > 0 || c !== zero) digits++;
    mantissa = mantissa * 10 + (c - zero);
    seen++;
    c = ++i < limit ? bytes[i] : 0;
  }
  if (c === point) {
    c = ++i < limit ? bytes[i] : 0;
    while (c >= zero && c <= nine) {
      if (digits > 0 || c !== zero) digits++;
      mantissa = mantissa * 10 + (c - zero);
      seen++;
      shift--;
      c = ++i < limit ? bytes[i] : 0;
    }
  }
  if (seen === 0) return false;
  let exponent = 0;
  const mark = c | 32;
  if (mark === 101 || mark === 100) {
    let j = i + 1;
    let exponentNegative = false;
    if (j < limit && (bytes[j] === minus || bytes[j] === plus))
      exponentNegative = bytes[j++] === minus;
    let d = j < limit ? bytes[j] : 0;
    if (d >= zero && d <= nine) {
      while (d >= zero && d <= nine) {
        if (exponent < 100000) exponent = exponent * 10 + (d - zero);
        d = ++j < limit ? bytes[j] : 0;
      }
      if (exponentNegative) exponent = -exponent;
      i = j;
    }
  }
  const power = shift + exponent;
  let value: number;
  if (digits <= 15 && power <= 22 && power >= -22)
    value = power < 0 ? mantissa / powers[-power] : mantissa * powers[power];
  else
    value = Math.abs(
      Number(
        Buffer.from(bytes.buffer, bytes.byteOffset + at, i - at)
          .toString('latin1')
          .replace(/[dD]/, 'e'),
      ),
    );
  scanned.value = negative ? -value : value;
  scanned.end = i;
  return true;
}
