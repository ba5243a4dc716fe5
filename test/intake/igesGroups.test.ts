import { describe, expect, test } from 'vitest';
import { readIges } from '../../src/intake/iges/readIges.ts';
import { hollerith, igesFile, pointer, surface, type MadeEntity } from './igesFile.ts';

// Groups (402), lists and names of levels (406 forms 1 and 3), field 5 of the directory entry:
// IGES 5.3 (ANS US PRO/IPO-100-1996), 2.2.4.4.5 and the entities named.

const groups = (entities: readonly MadeEntity[]): (readonly string[] | undefined)[] => {
  const intake = readIges(igesFile(entities));
  expect(intake.faults).toEqual([]);
  return intake.panels.map((panel) => panel.groups);
};
const group = (members: readonly number[], more: Partial<MadeEntity> = {}): MadeEntity => ({
  type: 402,
  form: 7,
  fields: [members.length, ...members.map(pointer)],
  ...more,
});
const face = (more: Partial<MadeEntity> = {}): MadeEntity => ({
  type: 144,
  fields: [pointer(1), 0, 0, 0],
  ...more,
});

describe('groups and layers of a panel', () => {
  test.each<[string, readonly MadeEntity[], readonly string[] | undefined]>([
    ['none', [surface()], undefined],
    ['a level', [surface({}, { level: 12 })], ['layer 12']],
    [
      'a level with a name (406 form 3), which stands on that level',
      [
        surface({}, { level: 12 }),
        { type: 406, form: 3, fields: [2, 7, hollerith('outer skin')], level: 12 },
        { type: 406, form: 3, fields: [2, 7, hollerith('clay')], level: 13 },
      ],
      ['outer skin'],
    ],
    [
      'several levels (406 form 1)',
      [
        surface({}, { level: -2 }),
        { type: 406, form: 1, fields: [3, 4, 2, 9] },
        { type: 406, form: 3, fields: [2, 7, hollerith('skin')], level: 9 },
      ],
      ['layer 2', 'layer 4', 'skin'],
    ],
    ['the level of its face', [surface(), face({ level: 3 })], ['layer 3']],
    [
      'of its solid',
      [
        surface({}, { status: '00010000' }),
        { type: 510, fields: [pointer(1), 0, 1] },
        { type: 514, fields: [1, pointer(2), 1] },
        { type: 186, fields: [pointer(3), 1, 0], level: 5 },
      ],
      ['layer 5'],
    ],
    ['form 1', [surface(), group([1], { form: 1, label: 'BODY' })], ['BODY']],
    ['form 7', [surface(), group([1], { form: 7, label: 'BODY' })], ['BODY']],
    ['form 14', [surface(), group([1], { form: 14, label: 'BODY' })], ['BODY']],
    ['form 15', [surface(), group([1], { form: 15, label: 'BODY', subscript: 2 })], ['BODY-2']],
    ['another form is no group', [surface(), group([1], { form: 5, label: 'BODY' })], undefined],
    [
      'a group by its name property (406 form 15)',
      [
        surface(),
        { ...group([1], { label: 'BODY' }), fields: [1, pointer(1), 0, 1, pointer(3)] },
        { type: 406, form: 15, fields: [1, hollerith('body side')] },
      ],
      ['body side'],
    ],
    ['a group without a name is called by its place', [surface(), group([1])], ['group-D3']],
    [
      'a group of faces, in a group',
      [surface(), face(), group([2], { label: 'SIDE' }), group([3], { label: 'BODY' })],
      ['BODY', 'SIDE'],
    ],
    [
      'groups in a circle',
      [surface(), group([1, 3], { label: 'A' }), group([2], { label: 'B' })],
      ['A', 'B'],
    ],
    [
      'pointers to nowhere, and a count that is none',
      [
        surface({}, { level: -40 }),
        group([1, 99, 0], { label: 'A' }),
        { ...group([1], { label: 'B' }), fields: [-4, pointer(1)] },
        { ...group([1], { label: 'C' }), fields: [999999999, pointer(1)] },
        { ...group([1], { label: 'D' }), fields: [hollerith('x'), pointer(1)] },
      ],
      ['A', 'C'],
    ],
  ])('%s', (_, entities, expected) => expect(groups(entities)).toEqual([expected]));

  test('two faces on one surface are each in their own groups', () => {
    const curve: MadeEntity = { type: 100, fields: ['0.', '.5', '.5', '.7', '.5', '.7', '.5'] };
    const cut = (label: string, level: number): MadeEntity => ({
      type: 144,
      fields: [pointer(1), 1, 0, pointer(3)],
      label,
      level,
    });
    expect(
      groups([
        surface({}, { level: 1 }),
        curve,
        { type: 142, fields: [0, pointer(1), pointer(2), 0, 1] },
        cut('LEFT', 2),
        cut('RIGHT', 3),
        group([5], { label: 'BODY' }),
      ]),
    ).toEqual([
      ['layer 1', 'layer 2'],
      ['BODY', 'layer 1', 'layer 3'],
    ]);
  });

  test('thousands of groups of everything cost no more than they say, and no panel lists them all', () => {
    const count = 400;
    const entities = [
      ...Array.from({ length: count }, () => surface()),
      ...Array.from({ length: count }, (_, k) =>
        group(
          Array.from({ length: count }, (_m, i) => i + 1),
          { label: `G${k}` },
        ),
      ),
    ];
    const begun = performance.now();
    const found = groups(entities);
    expect(performance.now() - begun).toBeLessThan(3000);
    expect(found).toHaveLength(count);
    expect(found.every((names) => names?.length === 64)).toBe(true);
  });

  test('groups a thousand deep end somewhere', () => {
    const chain = Array.from({ length: 1000 }, (_, k) => group([k + 1], { label: `G${k}` }));
    expect(groups([surface(), ...chain])[0]?.length).toBeLessThanOrEqual(64);
  });
});
