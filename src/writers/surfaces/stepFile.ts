import { diagonal } from '../../geometry/controlNet.ts';
import type { LengthUnit } from '../../intake/lengthUnit.ts';
import { ownNumber } from './ownNumber.ts';
import { stepShell, type StepTarget } from './stepFaces.ts';
import { stepList, stepReal, StepRecords, stepString } from './stepRecords.ts';
import { Remarks, resolution, type SurfaceFile, type WrittenSurfaces } from './surfaceFile.ts';

/** ISO 10303-242:2014 (edition 1), the long form of its information model. */
const schema = 'AP242_MANAGED_MODEL_BASED_3D_ENGINEERING_MIM_LF { 1 0 10303 442 1 1 4 }';

/** Prefixes of the metre (ISO 10303-41, si_prefix) by our names of units. */
const prefixes: Readonly<Record<string, string>> = {
  mm: '.MILLI.',
  cm: '.CENTI.',
  m: '$',
  km: '.KILO.',
  um: '.MICRO.',
};

const metre = (prefix: string): string => `(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(${prefix},.METRE.))`;

/** Names that others know, for units that are told by millimetres. */
const spelt: Readonly<Record<string, string>> = { in: 'INCH', ft: 'FOOT', mile: 'MILE' };

/** The unit of length; one that is no metre with a prefix as a conversion of the millimetre. */
function lengthUnit(to: StepRecords, { name, millimetres }: LengthUnit): string {
  if (Object.hasOwn(prefixes, name)) return to.add(metre(prefixes[name]));
  const millimetre = to.add(metre(prefixes['mm']));
  const exponents = to.add('DIMENSIONAL_EXPONENTS(1.,0.,0.,0.,0.,0.,0.)');
  const factor = to.add(
    `LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(${stepReal(millimetres)}),${millimetre})`,
  );
  const called = stepString(Object.hasOwn(spelt, name) ? spelt[name] : name);
  return to.add(
    `(CONVERSION_BASED_UNIT(${called},${factor})LENGTH_UNIT()NAMED_UNIT(${exponents}))`,
  );
}

/** The context of the shape: units, and the smallest distance it tells apart. */
function context(to: StepRecords, unit: LengthUnit, tolerance: number): string {
  const length = lengthUnit(to, unit);
  const angle = to.add('(NAMED_UNIT(*)PLANE_ANGLE_UNIT()SI_UNIT($,.RADIAN.))');
  const solid = to.add('(NAMED_UNIT(*)SI_UNIT($,.STERADIAN.)SOLID_ANGLE_UNIT())');
  const size = stepReal(tolerance / unit.millimetres);
  const close = to.add(
    `UNCERTAINTY_MEASURE_WITH_UNIT(LENGTH_MEASURE(${size}),${length},'distance_accuracy_value','')`,
  );
  return to.add(
    `(GEOMETRIC_REPRESENTATION_CONTEXT(3)GLOBAL_UNCERTAINTY_ASSIGNED_CONTEXT((${close}))` +
      `GLOBAL_UNIT_ASSIGNED_CONTEXT(${stepList([length, angle, solid])})` +
      `REPRESENTATION_CONTEXT('','3D'))`,
  );
}

/** The product the shape belongs to: ISO 10303-41, product, its definition and their contexts. */
function productShape(to: StepRecords, name: string): string {
  const called = stepString(name);
  const application = to.add("APPLICATION_CONTEXT('managed model based 3d engineering')");
  to.add(
    `APPLICATION_PROTOCOL_DEFINITION('international standard','ap242_managed_model_based_3d_engineering',2014,${application})`,
  );
  const general = to.add(`PRODUCT_CONTEXT('',${application},'mechanical')`);
  const product = to.add(`PRODUCT(${called},${called},'',(${general}))`);
  to.add(`PRODUCT_RELATED_PRODUCT_CATEGORY('part',$,(${product}))`);
  const version = to.add(`PRODUCT_DEFINITION_FORMATION('','',${product})`);
  const stage = to.add(`PRODUCT_DEFINITION_CONTEXT('part definition',${application},'design')`);
  const definition = to.add(`PRODUCT_DEFINITION('design','',${version},${stage})`);
  return to.add(`PRODUCT_DEFINITION_SHAPE('','',${definition})`);
}

/** Groups as layers: ISO 10303-46, presentation_layer_assignment. */
function addLayers(
  to: StepRecords,
  { panels }: SurfaceFile,
  faces: readonly (readonly string[])[],
): void {
  const members = new Map<string, string[]>();
  panels.forEach(({ groups = [] }, k) => {
    for (const group of groups) members.set(group, [...(members.get(group) ?? []), ...faces[k]]);
  });
  for (const [name, items] of members)
    to.add(`PRESENTATION_LAYER_ASSIGNMENT(${stepString(name)},'',${stepList(items)})`);
}

/**
 * Panels as an exchange file (ISO 10303-21) of ISO 10303-242: an open shell for each, its faces cut by
 * curves in the parameter plane, which are the master, and the same in space: exact along parameter
 * lines, else within a tenth of the trim's tolerance.
 */
export function stepFile(file: SurfaceFile): WrittenSurfaces {
  const { panels, unit, name, tool, at } = file;
  const records = new StepRecords();
  const shape = productShape(records, name);
  const where = context(records, unit, resolution(panels));
  const planeContext = records.add(
    "(GEOMETRIC_REPRESENTATION_CONTEXT(2)PARAMETRIC_REPRESENTATION_CONTEXT()REPRESENTATION_CONTEXT('2D SPACE',''))",
  );
  const origin = records.add("CARTESIAN_POINT('',(0.,0.,0.))");
  const [up, along] = ['0.,0.,1.', '1.,0.,0.'].map((ratios) =>
    records.add(`DIRECTION('',(${ratios}))`),
  );
  const axes = records.add(`AXIS2_PLACEMENT_3D('',${origin},${up},${along})`);
  const to: StepTarget = {
    records,
    planeContext,
    remarks: new Remarks(),
    own: (mm) => ownNumber(mm, unit.millimetres),
  };
  const made = panels.map((panel) => stepShell(to, panel, diagonal(panel.net)));
  if (made.length > 0) {
    const shells = stepList(made.map(({ shell }) => shell));
    const model = records.add(`SHELL_BASED_SURFACE_MODEL(${stepString(name)},${shells})`);
    const form = records.add(
      `MANIFOLD_SURFACE_SHAPE_REPRESENTATION(${stepString(name)},(${axes},${model}),${where})`,
    );
    records.add(`SHAPE_DEFINITION_REPRESENTATION(${shape},${form})`);
    addLayers(
      records,
      file,
      made.map(({ faces }) => faces),
    );
  }
  const program = stepString(`hullsight ${tool}`);
  const moment = at.toISOString().slice(0, 19);
  const bytes = Buffer.from(
    `ISO-10303-21;
HEADER;
FILE_DESCRIPTION(('surfaces'),'2;1');
FILE_NAME(${stepString(name)},'${moment}',(''),(''),${program},'hullsight','');
FILE_SCHEMA(('${schema}'));
ENDSEC;
DATA;
${records.lines.join('\n')}
ENDSEC;
END-ISO-10303-21;
`,
    'latin1',
  );
  return { bytes, unit, remarks: to.remarks };
}
