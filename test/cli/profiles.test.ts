import { Ajv } from 'ajv';
import { readFileSync, writeFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { describe, expect, test } from 'vitest';
import { auditRun, inFolder, isBuilt, started } from './auditRun.ts';

const root = resolve(import.meta.dirname, '../..');
const job = join(root, 'fixtures/demo/job');
const validate = new Ajv({ strictTuples: false }).compile(
  JSON.parse(readFileSync(join(root, 'src/verdict/verdict.schema.json'), 'utf8')) as object,
);

interface Profile {
  readonly legs: readonly number[];
  readonly turning: {
    readonly bulge: readonly (number | null)[];
    readonly sway: readonly (number | null)[];
  };
  readonly secondDifferences: {
    readonly normal: readonly (number | null)[];
    readonly size: readonly (number | null)[];
  };
}

interface Profiled {
  readonly panels: readonly {
    readonly outward: string;
    readonly points: readonly [number, number];
    readonly profiles?: {
      readonly unit: string;
      readonly turningUnit: string;
      readonly rows: readonly Profile[];
      readonly columns: readonly Profile[];
    };
  }[];
}

/** One panel as a file, audited with its profiles; the verdict must have the shape of its schema. */
const profiled = (panel: Record<string, unknown>, units = 'mm') =>
  inFolder(async (folder) => {
    const path = join(folder, 'one.net.json');
    const file = {
      format: 'hullsight-net',
      version: 1,
      units,
      panels: [{ name: 'one', ...panel }],
    };
    writeFileSync(path, JSON.stringify(file));
    const { printed } = await auditRun([path], { format: 'json', profiles: true });
    const verdict = JSON.parse(printed) as Profiled;
    expect(validate(verdict), JSON.stringify(validate.errors)).toBe(true);
    return { ...verdict.panels[0], profiles: verdict.panels[0].profiles! };
  });

/** Equal to the digits that a verdict writes: nine. */
const near = (actual: readonly (number | null)[], expected: readonly (number | null)[]): void => {
  expect(actual).toHaveLength(expected.length);
  expected.forEach((value, k) => {
    if (value === null) expect(actual[k]).toBeNull();
    else expect(Math.abs(actual[k]! - value)).toBeLessThan(1e-8 * Math.max(1, Math.abs(value)));
  });
};

// Worked by hand. Legs of each row: (30, 0, 40), (50, 0, 0), (30, 0, -40), all 50 mm long, turning by
// atan(4/3) twice. Abscissae 0, 0.5, 1.5, 2: first differences (60, 0, 80), (50, 0, 0), (60, 0, -80);
// theirs 0, 1, 2: second differences (-10, 0, -80), (10, 0, -80) a unit of parameter squared, times
// the square of the range, 4. At 0.5 the row runs along (55, 0, 40): its normal is (-40, 0, 55) over
// the root of 4625. Columns are straight, with legs of 10 and 20 mm over gaps of 0.5.
const vault = {
  degree: [2, 2],
  knots: [
    [0, 0, 0, 1, 2, 2, 2],
    [0, 0, 0, 1, 1, 1],
  ],
  rows: [0, 10, 30].map((y) => [
    [0, y, 0],
    [30, y, 40],
    [80, y, 40],
    [110, y, 0],
  ]),
  weights: null,
};
const bend = (Math.atan2(4, 3) * 180) / Math.PI;
const size = Math.hypot(40, 320);
const along = (40 * 40 - 320 * 55) / Math.sqrt(4625);

describe('profiles of a vault worked by hand', () => {
  test('in mm and degrees', async () => {
    const { outward, profiles } = await profiled(vault);
    expect([outward, profiles.unit, profiles.turningUnit]).toEqual(['convex-side', 'mm', 'deg']);
    expect([profiles.rows.length, profiles.columns.length]).toEqual([3, 4]);
    for (const { legs, turning, secondDifferences } of profiles.rows) {
      near(legs, [50, 50, 50]);
      near(turning.bulge, [null, bend, bend, null]);
      near(turning.sway, [null, 0, 0, null]);
      near(secondDifferences.normal, [null, along, along, null]);
      near(secondDifferences.size, [null, size, size, null]);
    }
    for (const { legs, turning, secondDifferences } of profiles.columns) {
      near(legs, [10, 20]);
      near(turning.bulge, [null, 0, null]);
      near(turning.sway, [null, 0, null]);
      near(secondDifferences.normal, [null, 0, null]);
      near(secondDifferences.size, [null, 20, null]);
    }
  });

  test('are the same whatever range the parameter has, and in mm whatever unit the file has', async () => {
    const [here] = (await profiled(vault)).profiles.rows;
    const wider = { ...vault, knots: [vault.knots[0].map((u) => 5 + 30 * u), vault.knots[1]] };
    const [stretched] = (await profiled(wider)).profiles.rows;
    const [inches] = (await profiled(vault, 'in')).profiles.rows;
    const rowLengths = ({ legs, secondDifferences }: Profile): (number | null)[] => [
      ...legs,
      ...secondDifferences.normal,
      ...secondDifferences.size,
    ];
    near(rowLengths(stretched), rowLengths(here));
    near(
      rowLengths(inches),
      rowLengths(here).map((x) => x && 25.4 * x),
    );
    near(inches.turning.bulge, here.turning.bulge);
  });

  test('show a sideways bend as sway', async () => {
    // The middle row's second point stands 5 mm aside, between legs of 50 mm.
    const rows = vault.rows.map((row, j) =>
      row.map(([x, y, z], i) => [x, j === 1 && i === 1 ? y + 5 : y, z]),
    );
    const { profiles } = await profiled({ ...vault, rows });
    expect(Math.abs(profiles.rows[1].turning.sway[1]!)).toBeGreaterThan(5);
    near(profiles.rows[0].turning.sway, [null, 0, 0, null]);
  });
});

test('a line that breaks has no second difference there, nor has one of degree 1', async () => {
  const broken = {
    degree: [2, 1],
    knots: [
      [0, 0, 0, 1, 1, 2, 2, 2],
      [0, 0, 1, 1],
    ],
    rows: [0, 40].map((y) => [
      [0, y, 0],
      [20, y, 10],
      [40, y, 10],
      [60, y, 0],
      [80, y, -20],
    ]),
    weights: null,
  };
  const { rows, columns } = (await profiled(broken)).profiles;
  for (const { secondDifferences, legs } of rows) {
    expect(legs).toHaveLength(4);
    // Second differences of (20, 0, 10), (20, 0, 0) and of (20, 0, -10), (20, 0, -20), over gaps of
    // a half and of 1, times 4.
    near(secondDifferences.size, [null, 80, null, 80, null]);
  }
  for (const { secondDifferences } of columns) near(secondDifferences.size, [null, null]);
});

describe('the option', () => {
  const withoutProfiles = (printed: string): string => {
    const verdict = JSON.parse(printed) as { panels: Record<string, unknown>[] };
    for (const panel of verdict.panels) delete panel['profiles'];
    return `${JSON.stringify(verdict, null, 2)}\n`;
  };

  // one rule that finds something and asks for no scan: what is tried here is the same for all
  const only = 'point-drift';

  test('adds the profiles of every panel and changes nothing else', async () => {
    const { printed: bare } = await auditRun([job], { only, format: 'json' });
    const { printed: full, status } = await auditRun([job], {
      only,
      format: 'json',
      profiles: true,
    });
    const verdict = JSON.parse(full) as Profiled;
    expect(status).toBe(1);
    expect(validate(verdict), JSON.stringify(validate.errors)).toBe(true);
    expect(verdict.panels).toHaveLength(6);
    for (const { points, profiles } of verdict.panels) {
      const [columns, rows] = points;
      expect([profiles!.rows.length, profiles!.columns.length]).toEqual([rows, columns]);
      for (const row of profiles!.rows)
        expect(
          [row.legs, row.turning.sway, row.secondDifferences.size].map((l) => l.length),
        ).toEqual([columns - 1, columns, columns]);
    }
    expect(bare).not.toContain('profiles');
    expect(withoutProfiles(full)).toBe(bare);
  });

  test('goes with JSON alone: by --format, or by the name of the file that is written', async () => {
    const refused = /--profiles goes with --format json/;
    await expect(auditRun([job], { profiles: true })).rejects.toThrow(refused);
    await expect(auditRun([job], { profiles: true, format: 'text' })).rejects.toThrow(refused);
    await inFolder(async (folder) => {
      const [json, text] = ['v.json', 'v.txt'].map((name) => join(folder, name));
      await expect(auditRun([job], { profiles: true, output: text })).rejects.toThrow(refused);
      const asText = auditRun([job], { profiles: true, output: json, format: 'text' });
      await expect(asText).rejects.toThrow(refused);
      const { printed } = await auditRun([job], { only, profiles: true, output: json });
      expect(printed).toBe((await auditRun([job], { only })).printed);
      const { printed: full } = await auditRun([job], { only, profiles: true, format: 'json' });
      expect(readFileSync(json, 'utf8')).toBe(full);
    });
  });

  test.skipIf(!isBuilt)('reaches the workers of the built command', () => {
    const runs = ['1', '2'].map((jobs) =>
      started(['audit', job, '--only', only, '--format', 'json', '--profiles', '--jobs', jobs]),
    );
    const panels = runs.map(({ out }) => (JSON.parse(out) as Profiled).panels);
    expect(panels[0].every(({ profiles }) => profiles!.rows.length > 0)).toBe(true);
    expect(panels[1]).toEqual(panels[0]);
  });
});
