/**
 * Decimal numbers read straight from bytes, without making a string for each. Up to 15 digits and
 * a power of ten up to 22 one multiplication or division of two exact doubles gives the nearest
 * double (Clinger, "How to read floating point numbers accurately", 1990, the fast case; from
 * memory). A number written to the last digit of a double, with 16 or 17 of them, takes one division
 * carried to twice the length. Anything else goes through Number(), which is exact for every length.
 */
export const powers = Float64Array.from({ length: 23 }, (_, k) => Number(`1e${k}`));

const zero = 48;
const nine = 57;
const plus = 43;
const minus = 45;
const point = 46;

/** Digits that a double holds whatever they are, and how many more are read beside them. */
const heldDigits = 15;
const mostMore = 7;

/**
 * (mantissa + more) / divisor to the nearest double, or NaN where that hangs on more digits than this
 * carries. `mantissa` has 15 digits, `more` lies from 0 to 1, `divisor` is an exact power of ten. The
 * remainder of the first quotient is exact (Dekker, "A floating-point technique for extending the
 * available precision", 1971; from memory); what is left out is below 1e-29 of the value.
 */
function longQuotient(mantissa: number, more: number, divisor: number): number {
  const first = mantissa / divisor;
  const splitting = 2 ** 27 + 1;
  const a = splitting * first;
  const firstHigh = a - (a - first);
  const firstLow = first - firstHigh;
  const b = splitting * divisor;
  const divisorHigh = b - (b - divisor);
  const divisorLow = divisor - divisorHigh;
  const product = first * divisor;
  const productLow =
    firstHigh * divisorHigh -
    product +
    firstHigh * divisorLow +
    firstLow * divisorHigh +
    firstLow * divisorLow;
  const second = (mantissa - product - productLow + more) / divisor;
  const doubt = first * 1e-28;
  const value = first + (second - doubt);
  return value === first + (second + doubt) ? value : NaN;
}

/** A value and the offset just behind it. One object, refilled by each call: read it at once. */
export const scanned = { value: 0, end: 0 };

/**
 * The value of the digits in bytes[from..to), with or without a point among them, times ten to the
 * `power`, which counts from the last digit; NaN where that takes more than is carried here.
 */
function longValue(bytes: Uint8Array, from: number, to: number, power: number): number {
  let mantissa = 0;
  let more = 0;
  let digits = 0;
  for (let i = from; i < to; i++) {
    const c = bytes[i];
    if (c === point) continue;
    if (digits > 0 || c !== zero) digits++;
    if (digits <= heldDigits) mantissa = mantissa * 10 + (c - zero);
    else more = more * 10 + (c - zero);
  }
  const beyond = digits - heldDigits;
  if (beyond <= 0) return heldValue(mantissa, power);
  return beyond <= mostMore && power <= -beyond && power >= -22 - beyond
    ? longQuotient(mantissa, more / powers[beyond], powers[-power - beyond])
    : NaN;
}

/** A whole number of up to 15 digits times ten to the `power`; NaN where that is no exact double. */
const heldValue = (mantissa: number, power: number): number =>
  power > 22 || power < -22
    ? NaN
    : power < 0
      ? mantissa / powers[-power]
      : mantissa * powers[power];

/**
 * Reads one real or integer number that starts at `at`; at most up to `limit`. An exponent may be
 * marked E or D in either case (D is Fortran's double precision, which IGES uses). On success fills
 * `scanned` and returns true; false where no number starts there.
 */
export function scanDecimal(bytes: Uint8Array, at: number, limit: number): boolean {
  let i = at;
  let c = i < limit ? bytes[i] : 0;
  const isNegative = c === minus;
  if (isNegative || c === plus) c = ++i < limit ? bytes[i] : 0;
  const first = i;
  // Exact as long as there are no more than 15 digits.
  let mantissa = 0;
  while (c >= zero && c <= nine) {
    mantissa = mantissa * 10 + (c - zero);
    c = ++i < limit ? bytes[i] : 0;
  }
  let seen = i - first;
  let power = 0;
  if (c === point) {
    const fraction = i + 1;
    c = ++i < limit ? bytes[i] : 0;
    while (c >= zero && c <= nine) {
      mantissa = mantissa * 10 + (c - zero);
      c = ++i < limit ? bytes[i] : 0;
    }
    power = fraction - i;
    seen -= power;
  }
  if (seen === 0) return false;
  const last = i;
  const mark = c | 32;
  if (mark === 101 || mark === 100) {
    let j = i + 1;
    let d = j < limit ? bytes[j] : 0;
    const isDown = d === minus;
    if (isDown || d === plus) d = ++j < limit ? bytes[j] : 0;
    let exponent = 0;
    while (d >= zero && d <= nine) {
      if (exponent < 100000) exponent = exponent * 10 + (d - zero);
      d = ++j < limit ? bytes[j] : 0;
      i = j;
    }
    power += isDown ? -exponent : exponent;
  }
  let value =
    seen <= heldDigits ? heldValue(mantissa, power) : longValue(bytes, first, last, power);
  if (Number.isNaN(value))
    value = Math.abs(
      Number(
        Buffer.from(bytes.buffer, bytes.byteOffset + at, i - at)
          .toString('latin1')
          .replace(/[dD]/, 'e'),
      ),
    );
  scanned.value = isNegative ? -value : value;
  scanned.end = i;
  return true;
}
