import { expect, test } from 'vitest';
import { trimNotice } from '../../src/intake/trimNotice.ts';
import { noticeSentence } from '../../src/writers/faultSentences.ts';

test('borders without a region are told by loop, counted from 1, and by their gap', () => {
  const place = { record: 'D7' };
  const open = trimNotice({ trouble: 'open', loop: 0, gap: 1.23456789 }, place);
  expect(open).toEqual({
    code: 'trim-open',
    place,
    data: { loop: 1, gap: 1.23456789, unit: 'mm' },
  });
  expect(noticeSentence(open)).toMatch(
    /^loop 1 .*do(es)? not close.* 1\.23457 mm apart\. .*taken whole/,
  );
  const off = trimNotice({ trouble: 'off-surface', loop: 2, gap: 3 }, place);
  expect(noticeSentence(off)).toMatch(/^loop 3 .* 3 mm off the surface/);
  for (const trouble of ['empty', 'unsound'] as const)
    expect(trimNotice({ trouble, loop: 1 }, place)).toEqual({
      code: `trim-${trouble}`,
      place,
      data: { loop: 2 },
    });
});
