import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { scanDecimal, scanned } from '../../src/intake/decimal.ts';

function read(text: string): { value: number; end: number } {
  const bytes = Buffer.from(text);
  expect(scanDecimal(bytes, 0, bytes.length)).toBe(true);
  return { ...scanned };
}

/** What ECMA-262 makes of the same digits: StringToNumber rounds to the nearest double. */
function expectNearest(text: string): void {
  expect(read(text)).toEqual({ value: Number(text.replace(/d/i, 'e')), end: text.length });
}

describe('a decimal number is the nearest double', () => {
  const digits = fc.array(fc.integer({ min: 0, max: 9 }), { minLength: 1, maxLength: 25 });

  it.each([
    '0.',
    '-0.',
    '.5',
    '+12',
    '1.D3',
    '-2.5e-3',
    '1.7976931348623157E308',
    '4.9E-324',
    // 2^53 + 1, which lies between two doubles, and its neighbours in the next digits
    '9007199254740993',
    '9007199254740993.00001',
    '4503599627370496.5',
    '4503599627370497.5',
    '1125899906842624.125',
    '1125899906842624.375',
  ])('%s', expectNearest);

  it('for any digits with a point among them and any exponent', () => {
    fc.assert(
      fc.property(digits, fc.nat(24), fc.integer({ min: -30, max: 30 }), (all, at, exponent) => {
        const text = all.join('');
        const k = Math.min(at, text.length);
        expectNearest(`${text.slice(0, k)}.${text.slice(k)}`);
        expectNearest(`${text.slice(0, k)}.${text.slice(k)}D${exponent}`);
      }),
      { numRuns: 2000 },
    );
  });

  it('for doubles written in 15 to 21 digits, and for points half-way between two of them', () => {
    fc.assert(
      fc.property(fc.bigInt(2n ** 52n, 2n ** 53n - 1n), fc.integer({ min: 0, max: 21 }), (m, e) => {
        // (2m + 1) / 2^e lies half-way between two doubles; its decimals end after e digits.
        const text = (((2n * m + 1n) * 10n ** BigInt(e)) / 2n ** BigInt(e)).toString();
        const tie = e === 0 ? text : `${text.slice(0, -e)}.${text.slice(-e)}`;
        expectNearest(tie);
        for (let length = 15; length <= 21; length++) {
          expectNearest(Number(tie).toPrecision(length));
          expectNearest(tie.slice(0, length + 1));
        }
      }),
      { numRuns: 1000 },
    );
  });
});
