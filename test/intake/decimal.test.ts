import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { scanDecimal, scanned } from '../../src/intake/decimal.ts';
import { longestShort, shortDecimal } from '../../src/intake/scan/shortDecimal.ts';

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

describe('a short number', () => {
  /** Its value and the offset behind it, or null where it is left to scanDecimal. */
  function short(text: string, behind = ' '): { value: number; end: number } | null {
    const bytes = Buffer.from((text + behind).padEnd(longestShort));
    const into = Float64Array.of(NaN, NaN);
    const end = shortDecimal(bytes, 0, into, 1);
    expect(into[0]).toBeNaN();
    return end < 0 ? null : { value: into[1], end };
  }
  const digits = fc.array(fc.integer({ min: 0, max: 9 }), { maxLength: 9 });

  it('is the nearest double, as ECMA-262 has it', () => {
    fc.assert(
      fc.property(
        digits,
        digits,
        fc.constantFrom('', '-', '+'),
        fc.constantFrom('', 'e', 'E+', 'd-', 'D-0', 'e+00'),
        fc.nat(9),
        (whole, part, sign, mark, exponent) => {
          fc.pre(whole.length + part.length > 0 && whole.length + part.length <= 15);
          const point = part.length > 0 || exponent % 2 === 0 ? '.' : '';
          const text = `${sign}${whole.join('')}${point}${part.join('')}${mark}${mark && exponent}`;
          const value = Number(text.replace(/d/i, 'e'));
          for (const behind of [' ', '\n', ',', 'x'])
            expect(short(text, behind)).toEqual({ value, end: text.length });
        },
      ),
      { numRuns: 5000 },
    );
  });

  it.each(['0', '-0', '999999999', '.999999999', '123456789.123456', '1e22', '1e-22', '7e+021'])(
    '%s',
    (text) => expect(short(text)).toEqual({ value: Number(text), end: text.length }),
  );

  it.each([
    '',
    '.',
    '-',
    '+.',
    '--1',
    ',1',
    'nan',
    '1234567890',
    '0.1234567890',
    '1234567.123456789',
    '1e',
    '1e+',
    '1e23',
    '1e-23',
    '1.5e-22',
    '1e0001',
    '9'.repeat(40),
  ])('"%s" is none', (text) => expect(short(text)).toBeNull());
});
