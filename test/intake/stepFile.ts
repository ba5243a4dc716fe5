import type { ControlNet } from '../../src/geometry/controlNet.ts';

/** An exchange file (ISO 10303-21) with the given records in its data section. */
export const stepFile = (data: string): Uint8Array =>
  Buffer.from(
    `ISO-10303-21;
HEADER;
FILE_DESCRIPTION(('Ternwing 3'),'2;1');
FILE_NAME('ternwing.stp','2026-01-01T00:00:00',(''),(''),'','','');
FILE_SCHEMA(('AUTOMOTIVE_DESIGN { 1 0 10303 214 1 1 1 1 }'));
ENDSEC;
DATA;
${data}
ENDSEC;
END-ISO-10303-21;
`,
    'latin1',
  );

const millimetreUnit = '( LENGTH_UNIT() NAMED_UNIT(*) SI_UNIT(.MILLI.,.METRE.) )';

/** A stock of numbered records, for making files. */
export class StepRecordsMaker {
  private readonly lines: string[] = [];
  private last: number;

  constructor(first = 1) {
    this.last = first - 1;
  }

  /** Adds a record and gives its name, "#7". */
  add(body: string): string {
    this.last += 1;
    this.lines.push(`#${this.last}=${body};`);
    return `#${this.last}`;
  }

  point(x: number, y: number, z: number): string {
    return this.add(`CARTESIAN_POINT('',(${[x, y, z].map(real).join(',')}))`);
  }

  direction(x: number, y: number, z: number): string {
    return this.add(`DIRECTION('',(${[x, y, z].map(real).join(',')}))`);
  }

  axes(
    origin: readonly [number, number, number],
    z: readonly [number, number, number] = [0, 0, 1],
    x: readonly [number, number, number] = [1, 0, 0],
  ): string {
    return this.add(
      `AXIS2_PLACEMENT_3D('',${this.point(...origin)},${this.direction(...z)},${this.direction(...x)})`,
    );
  }

  /** A context with one length unit, given by the body of its record. */
  context(unit = millimetreUnit): string {
    const length = this.add(unit);
    return this.add(
      `( GEOMETRIC_REPRESENTATION_CONTEXT(3) GLOBAL_UNIT_ASSIGNED_CONTEXT((${length})) REPRESENTATION_CONTEXT('','') )`,
    );
  }

  inchContext(): string {
    const millimetre = this.add(millimetreUnit);
    const dimensions = this.add('DIMENSIONAL_EXPONENTS(1.,0.,0.,0.,0.,0.,0.)');
    const factor = this.add(`LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(25.4),${millimetre})`);
    return this.context(
      `( CONVERSION_BASED_UNIT('INCH',${factor}) LENGTH_UNIT() NAMED_UNIT(${dimensions}) )`,
    );
  }

  /** Control points of a net as the lists of a record: u outer, v inner. */
  pointLists(net: ControlNet): string {
    const runs = Array.from({ length: net.columns }, (_, i) =>
      Array.from({ length: net.rows }, (_r, j) => {
        const at = 3 * (j * net.columns + i);
        return this.point(net.points[at], net.points[at + 1], net.points[at + 2]);
      }),
    );
    return `(${runs.map((run) => `(${run.join(',')})`).join(',')})`;
  }

  surface(net: ControlNet, name = ''): string {
    return this.add(
      `B_SPLINE_SURFACE_WITH_KNOTS('${name}',${net.degree.join(',')},${this.pointLists(net)},` +
        `.UNSPECIFIED.,.F.,.F.,.F.,${knotLists(net)},.UNSPECIFIED.)`,
    );
  }

  /** A net with weights, as a complex instance. */
  rationalSurface(net: ControlNet): string {
    const shape = `${net.degree.join(',')},${this.pointLists(net)},.UNSPECIFIED.,.F.,.F.,.F.`;
    const weights = Array.from({ length: net.columns }, (_, i) =>
      Array.from({ length: net.rows }, (_r, j) => real(net.weights![j * net.columns + i])),
    );
    return this.add(
      `( BOUNDED_SURFACE() B_SPLINE_SURFACE(${shape}) B_SPLINE_SURFACE_WITH_KNOTS(${knotLists(net)},.UNSPECIFIED.) ` +
        `GEOMETRIC_REPRESENTATION_ITEM() RATIONAL_B_SPLINE_SURFACE((${weights.map((run) => `(${run.join(',')})`).join(',')})) ` +
        `REPRESENTATION_ITEM('') SURFACE() )`,
    );
  }

  face(surface: string, name = ''): string {
    return this.add(`ADVANCED_FACE('${name}',(),${surface},.T.)`);
  }

  representation(items: readonly string[], context: string): string {
    return this.add(`SHAPE_REPRESENTATION('',(${items.join(',')}),${context})`);
  }

  /** A product with its definition; gives the name of the definition. */
  product(name: string): string {
    const product = this.add(`PRODUCT('id','${name}','',())`);
    const formation = this.add(`PRODUCT_DEFINITION_FORMATION('','',${product})`);
    return this.add(`PRODUCT_DEFINITION('','',${formation},$)`);
  }

  shapeOf(definition: string, representation: string): void {
    const shape = this.add(`PRODUCT_DEFINITION_SHAPE('','',${definition})`);
    this.add(`SHAPE_DEFINITION_REPRESENTATION(${shape},${representation})`);
  }

  /** Places `one` in `two`: what stands at the frame `from` of one comes to stand at `to` of two. */
  placed(one: string, two: string, from: string, to: string): string {
    const transformation = this.add(`ITEM_DEFINED_TRANSFORMATION('','',${from},${to})`);
    return this.add(
      `( REPRESENTATION_RELATIONSHIP('','',${one},${two}) ` +
        `REPRESENTATION_RELATIONSHIP_WITH_TRANSFORMATION(${transformation}) SHAPE_REPRESENTATION_RELATIONSHIP() )`,
    );
  }

  /** Says that a relationship places the component in the assembly. */
  usage(relation: string, assembly: string, component: string): void {
    const usage = this.add(`NEXT_ASSEMBLY_USAGE_OCCURRENCE('','','',${assembly},${component},$)`);
    const shape = this.add(`PRODUCT_DEFINITION_SHAPE('','',${usage})`);
    this.add(`CONTEXT_DEPENDENT_SHAPE_REPRESENTATION(${relation},${shape})`);
  }

  text(): string {
    return this.lines.join('\n');
  }

  file(): Uint8Array {
    return stepFile(this.text());
  }
}

/** A real of the exchange file: it always has a point. */
export const real = (value: number): string => {
  const text = String(value).toUpperCase();
  if (text.includes('.')) return text;
  return text.includes('E') ? text.replace('E', '.E') : `${text}.`;
};

/** u and v multiplicities, u and v knots, as four lists. */
export function knotLists(net: ControlNet): string {
  const distinct = net.knots.map((knots) => [...new Set(knots)]);
  const multiplicities = net.knots.map((knots, side) =>
    distinct[side].map((value) => knots.filter((k) => k === value).length),
  );
  return [
    ...multiplicities.map((list) => `(${list.join(',')})`),
    ...distinct.map((list) => `(${list.map(real).join(',')})`),
  ].join(',');
}
