import { describe, expect, test } from 'vitest';
import { seededRandom } from '../../../fixtures/seededRandom.ts';
import type { ControlNet } from '../../../src/geometry/controlNet.ts';
import { lengthUnits } from '../../../src/intake/lengthUnit.ts';
import type { Panel } from '../../../src/intake/panel.ts';
import { stepFile } from '../../../src/writers/surfaces/stepFile.ts';
import { anyNet, madeRegion, panel } from './madePanels.ts';

// The file is taken apart here by patterns, without the reader.

const at = new Date('2026-02-03T04:05:06Z');
const written = (panels: readonly Panel[], unit = lengthUnits['mm']): string =>
  Buffer.from(stepFile({ panels, unit, name: "it's.stp", tool: '1.2.3', at }).bytes).toString(
    'latin1',
  );

/** Bodies of records by "#n". */
function records(text: string): ReadonlyMap<string, string> {
  const data = text.split('\nDATA;\n')[1].split('\nENDSEC;')[0];
  return new Map(
    data.split('\n').map((line) => {
      const [, name, body] = /^(#\d+)=(.*);$/.exec(line)!;
      return [name, body] as const;
    }),
  );
}

const typeOf = (body: string): string => /^\(?([A-Z0-9_]+)/.exec(body)![1];
const refsIn = (body: string): string[] =>
  body.replace(/'(?:[^']|'')*'/g, "''").match(/#\d+/g) ?? [];

/** The records of a type, and what they refer to by type. */
function having(all: ReadonlyMap<string, string>, type: string): { body: string; to: string[] }[] {
  return [...all.values()]
    .filter((body) => typeOf(body) === type)
    .map((body) => ({ body, to: refsIn(body).map((name) => typeOf(all.get(name)!)) }));
}

const flat: ControlNet = {
  degree: [1, 1],
  knots: [Float64Array.of(0, 0, 1, 1), Float64Array.of(0, 0, 1, 1)],
  columns: 2,
  rows: 2,
  points: Float64Array.of(0, 0, 0, 254, 0, 0, 0, 127, 0, 254, 127, 1e-7),
  weights: null,
};

describe('exchange structure: ISO 10303-21', () => {
  const text = written([panel('flat', flat)]);

  test('header, schema of ISO 10303-242:2014, sections, the end', () => {
    expect(text.split('\n').slice(0, 7)).toEqual([
      'ISO-10303-21;',
      'HEADER;',
      "FILE_DESCRIPTION(('surfaces'),'2;1');",
      "FILE_NAME('it''s.stp','2026-02-03T04:05:06',(''),(''),'hullsight 1.2.3','hullsight','');",
      "FILE_SCHEMA(('AP242_MANAGED_MODEL_BASED_3D_ENGINEERING_MIM_LF { 1 0 10303 442 1 1 4 }'));",
      'ENDSEC;',
      'DATA;',
    ]);
    expect(text.endsWith('\nENDSEC;\nEND-ISO-10303-21;\n')).toBe(true);
  });

  test('every reference leads to a record before it, and every record is used or a root', () => {
    const random = seededRandom(12);
    const net = anyNet(random);
    const all = records(
      written([
        panel('flat', flat, { groups: ['skin'] }),
        panel('trimmed', net, { region: madeRegion(net, random), groups: ['skin'] }),
      ]),
    );
    const names = [...all.keys()];
    const used = new Set<string>();
    names.forEach((name, k) => {
      for (const ref of refsIn(all.get(name)!)) {
        expect(names.indexOf(ref), `${ref} in ${name}`).toBeLessThan(k);
        expect(names.indexOf(ref)).toBeGreaterThanOrEqual(0);
        used.add(ref);
      }
    });
    expect(names.filter((name) => !used.has(name)).map((name) => typeOf(all.get(name)!))).toEqual([
      'APPLICATION_PROTOCOL_DEFINITION',
      'PRODUCT_RELATED_PRODUCT_CATEGORY',
      'SHAPE_DEFINITION_REPRESENTATION',
      'PRESENTATION_LAYER_ASSIGNMENT',
    ]);
  });

  test('strings: quotes and backslashes doubled, other letters as \\X2\\ and \\X4\\ (6.4.3)', () => {
    const all = records(written([panel("O'Neil\\é漢𝄞", flat)]));
    expect(having(all, 'ADVANCED_FACE')[0].body).toContain(
      "'O''Neil\\\\\\X2\\00E9\\X0\\\\X2\\6F22\\X0\\\\X4\\0001D11E\\X0\\'",
    );
  });
});

describe('product, units: ISO 10303-41', () => {
  test('the shape of a product, in a context with units and an uncertainty', () => {
    const all = records(written([panel('flat', flat)]));
    expect(having(all, 'SHAPE_DEFINITION_REPRESENTATION')[0].to).toEqual([
      'PRODUCT_DEFINITION_SHAPE',
      'MANIFOLD_SURFACE_SHAPE_REPRESENTATION',
    ]);
    expect(having(all, 'PRODUCT')[0].body).toMatch(/^PRODUCT\('it''s\.stp','it''s\.stp',/);
    const [uncertainty] = having(all, 'UNCERTAINTY_MEASURE_WITH_UNIT');
    const size = Math.hypot(254, 127, 1e-7) * 1e-6;
    expect(uncertainty.body).toContain(`LENGTH_MEASURE(${size})`.replace('e-', 'E-'));
    expect([...all.values()]).toContain('(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(.MILLI.,.METRE.))');
  });

  test.each([
    ['cm', 'SI_UNIT(.CENTI.,.METRE.)', '(25.4,0.,0.)'],
    ['m', 'SI_UNIT($,.METRE.)', '(0.254,0.,0.)'],
    ['in', "CONVERSION_BASED_UNIT('INCH',", '(10.,0.,0.)'],
    ['mil', "CONVERSION_BASED_UNIT('mil',", '(10000.,0.,0.)'],
  ])('%s', (name, unit, point) => {
    const text = written([panel('flat', flat, { unit: lengthUnits[name] })], lengthUnits[name]);
    expect(text).toContain(unit);
    expect(text).toContain(`CARTESIAN_POINT('',${point})`);
  });
});

describe('shells, faces, edges: ISO 10303-42', () => {
  test('a panel without a trim has its four edges, shared corners, and pcurves that are the master', () => {
    const all = records(written([panel('flat', flat)]));
    expect(having(all, 'SHELL_BASED_SURFACE_MODEL')[0].to).toEqual(['OPEN_SHELL']);
    expect(having(all, 'OPEN_SHELL').map(({ to }) => to)).toEqual([['ADVANCED_FACE']]);
    expect(having(all, 'ADVANCED_FACE')[0].to).toEqual([
      'FACE_OUTER_BOUND',
      'B_SPLINE_SURFACE_WITH_KNOTS',
    ]);
    expect(having(all, 'EDGE_LOOP')[0].to).toEqual(
      Array.from({ length: 4 }, () => 'ORIENTED_EDGE'),
    );
    expect(having(all, 'VERTEX_POINT')).toHaveLength(4);
    const edges = having(all, 'EDGE_CURVE');
    expect(edges).toHaveLength(4);
    for (const { to } of edges)
      expect(to).toEqual(['VERTEX_POINT', 'VERTEX_POINT', 'SURFACE_CURVE']);
    for (const { body, to } of having(all, 'SURFACE_CURVE')) {
      expect(to).toEqual(['B_SPLINE_CURVE_WITH_KNOTS', 'PCURVE']);
      expect(body).toMatch(/,\.PCURVE_S1\.\)$/);
    }
    for (const { to } of having(all, 'PCURVE'))
      expect(to).toEqual(['B_SPLINE_SURFACE_WITH_KNOTS', 'DEFINITIONAL_REPRESENTATION']);
    // corner to corner: the end of each edge is the start of the next
    const ends = edges.map(({ body }) => refsIn(body).slice(0, 2));
    ends.forEach(([, end], k) => expect(end).toBe(ends[(k + 1) % 4][0]));
  });

  test('control points: u runs outside, v inside', () => {
    const all = records(written([panel('flat', flat)]));
    const [{ body }] = having(all, 'B_SPLINE_SURFACE_WITH_KNOTS');
    expect(body).toMatch(
      /^B_SPLINE_SURFACE_WITH_KNOTS\('flat',1,1,\(\(#\d+,#\d+\),\(#\d+,#\d+\)\),.*,\(2,2\),\(2,2\),\(0\.,1\.\),\(0\.,1\.\),\.UNSPECIFIED\.\)$/,
    );
    expect(refsIn(body).map((name) => all.get(name))).toEqual([
      "CARTESIAN_POINT('',(0.,0.,0.))",
      "CARTESIAN_POINT('',(0.,127.,0.))",
      "CARTESIAN_POINT('',(254.,0.,0.))",
      "CARTESIAN_POINT('',(254.,127.,1.E-7))",
    ]);
  });

  test('a rational surface is a complex instance, its parts in order of their names', () => {
    const text = written([panel('r', { ...flat, weights: Float64Array.of(1, 2, 3, 4) })]);
    const [, body] = /=\((BOUNDED_SURFACE\(\).*)\);/.exec(text)!;
    const parts = body.match(/(?<=^|\))[A-Z][A-Z_]+(?=\()/g)!;
    expect(parts).toEqual([
      'BOUNDED_SURFACE',
      'B_SPLINE_SURFACE',
      'B_SPLINE_SURFACE_WITH_KNOTS',
      'GEOMETRIC_REPRESENTATION_ITEM',
      'RATIONAL_B_SPLINE_SURFACE',
      'REPRESENTATION_ITEM',
      'SURFACE',
    ]);
    expect(body).toContain('RATIONAL_B_SPLINE_SURFACE(((1.,3.),(2.,4.)))');
  });

  test('holes are bounds of the face, an island in one is a face of the same shell', () => {
    const random = seededRandom(8);
    const net = anyNet(random);
    const all = records(written([panel('t', net, { region: madeRegion(net, random) })]));
    expect(having(all, 'OPEN_SHELL').map(({ to }) => to.length)).toEqual([2]);
    expect(having(all, 'ADVANCED_FACE').map(({ to }) => to.slice(0, -1))).toEqual([
      ['FACE_OUTER_BOUND', 'FACE_BOUND', 'FACE_BOUND'],
      ['FACE_OUTER_BOUND'],
    ]);
  });

  test('the seam of a surface that closes is one edge used both ways, with a pcurve on each side', () => {
    const tent = {
      ...flat,
      degree: [1, 1] as const,
      columns: 4,
      knots: [Float64Array.of(0, 0, 1, 2, 3, 3), flat.knots[1]] as const,
      points: Float64Array.from([0, 100].flatMap((z) => [0, 0, z, 50, 0, z, 0, 50, z, 0, 0, z])),
    };
    const all = records(written([panel('tube', tent)]));
    const [seam, ...others] = having(all, 'SEAM_CURVE');
    expect(others).toEqual([]);
    expect(seam.to).toEqual(['B_SPLINE_CURVE_WITH_KNOTS', 'PCURVE', 'PCURVE']);
    expect(having(all, 'EDGE_CURVE')).toHaveLength(3);
    const oriented = having(all, 'ORIENTED_EDGE').map(({ body }) => body.slice(-4));
    expect(oriented.filter((sense) => sense === '.F.)')).toHaveLength(1);
    expect(having(all, 'VERTEX_POINT')).toHaveLength(2);
  });

  test('groups are layers (ISO 10303-46) that hold the faces', () => {
    const all = records(
      written([
        panel('a', flat, { groups: ['one', 'two'] }),
        panel('b', flat, { groups: ['two'] }),
      ]),
    );
    expect(
      having(all, 'PRESENTATION_LAYER_ASSIGNMENT').map(({ body, to }) => [body.slice(30, 35), to]),
    ).toEqual([
      ["'one'", ['ADVANCED_FACE']],
      ["'two'", ['ADVANCED_FACE', 'ADVANCED_FACE']],
    ]);
  });
});
