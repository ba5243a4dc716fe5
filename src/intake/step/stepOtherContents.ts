import type { OtherContent } from '../otherContents.ts';
import { StepFile } from './stepFile.ts';

/** What people look for in a file besides its surfaces, by type. */
const labels: Readonly<Record<string, string>> = {
  STYLED_ITEM: 'colour or style',
  OVER_RIDING_STYLED_ITEM: 'colour or style',
  GEOMETRIC_CURVE_SET: 'set of curves and points',
  GEOMETRIC_SET: 'set of geometry, whose surfaces are written by themselves',
  MANIFOLD_SOLID_BREP: 'solid, whose faces are written by themselves',
  BREP_WITH_VOIDS: 'solid, whose faces are written by themselves',
  FACETED_BREP: 'solid, whose faces are written by themselves',
  SHELL_BASED_WIREFRAME_MODEL: 'wireframe',
  EDGE_BASED_WIREFRAME_MODEL: 'wireframe',
  NEXT_ASSEMBLY_USAGE_OCCURRENCE: 'part in an assembly, written where it stands',
  ANNOTATION_OCCURRENCE: 'annotation',
  ANNOTATION_CURVE_OCCURRENCE: 'annotation',
  ANNOTATION_TEXT_OCCURRENCE: 'annotation',
  ANNOTATION_PLANE: 'annotation',
  TESSELLATED_ANNOTATION_OCCURRENCE: 'annotation',
  DRAUGHTING_CALLOUT: 'annotation',
  DIMENSIONAL_SIZE: 'dimension',
  DIMENSIONAL_LOCATION: 'dimension',
  DATUM: 'datum',
  DATUM_FEATURE: 'datum',
  TESSELLATED_SOLID: 'mesh',
  TESSELLATED_SHELL: 'mesh',
  CAMERA_MODEL_D3: 'view',
  DOCUMENT_FILE: 'document',
  PROPERTY_DEFINITION: 'property',
};

/**
 * What only holds, places, trims or measures surfaces, or tells the detail of a style: by words of the
 * type's name. A complex instance, whose name is empty here, is a unit, a context or a curve.
 */
const means = new RegExp(
  '^(' +
    [
      '',
      'CARTESIAN_POINT|DIRECTION|VECTOR|LINE|CIRCLE|ELLIPSE|HYPERBOLA|PARABOLA|POLYLINE|PLANE',
      '.*_CURVE(_WITH_KNOTS|_SEGMENT)?|PCURVE|.*PLACEMENT.*|.*TRANSFORMATION.*',
      '.*SURFACE.*|.*VERTEX.*|.*EDGE.*|.*FACE.*|.*LOOP|.*SHELL|MAPPED_ITEM',
      '.*REPRESENTATION.*|.*CONTEXT.*|PRODUCT.*|APPLICATION_PROTOCOL_DEFINITION',
      '.*UNIT.*|.*MEASURE.*|DIMENSIONAL_EXPONENTS|PRESENTATION_LAYER_ASSIGNMENT|.*STYLE.*|.*COLOUR.*|.*PRE_DEFINED.*',
    ].join('|') +
    ')$',
);
/** Types of a gathered count that are named. */
const mostNamed = 3;

/**
 * What a file holds besides surfaces and is no mere means of holding them: by type where it has a name
 * that people know, the rest together.
 */
export function stepOtherContents(bytes: Uint8Array): OtherContent[] {
  const { records } = new StepFile(bytes);
  const counts = new Map<string, number>();
  const text = Buffer.from(bytes.buffer, bytes.byteOffset, bytes.length);
  for (let record = 0; record < records.count; record++) {
    const from = records.bodies[record];
    const head = text.toString('latin1', from, Math.min(from + 60, records.ends[record]));
    const type = /^[A-Z0-9_]*/.exec(head)![0];
    counts.set(type, (counts.get(type) ?? 0) + 1);
  }
  const found = [...counts].sort(([a], [b]) => (a < b ? -1 : 1));
  const known = found.filter(([type]) => Object.hasOwn(labels, type));
  const others = found.filter(([type]) => !Object.hasOwn(labels, type) && !means.test(type));
  const names = others.map(([type]) => type.toLowerCase().replaceAll('_', ' '));
  const more =
    names.length > mostNamed ? `${names.slice(0, mostNamed).join(', ')}, ...` : names.join(', ');
  return [
    ...known.map(([type, count]) => ({ kind: `STEP ${type}`, label: labels[type], count })),
    ...(others.length > 0
      ? [
          {
            kind: 'STEP records',
            label: more,
            count: others.reduce((total, [, count]) => total + count, 0),
          },
        ]
      : []),
  ];
}
