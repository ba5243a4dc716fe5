import type { OpenCascadeInstance } from 'opencascade.js/dist/opencascade.full.js';

/** A face of a file as a general geometry kernel has it. */
export interface KernelFace {
  /** Whether it lies on a B-spline surface. */
  readonly isSpline: boolean;
  /** Parameter ranges of the surface in u and in v. */
  readonly ranges: readonly [readonly [number, number], readonly [number, number]];
  readonly evaluate: (u: number, v: number) => readonly [number, number, number];
  /** What the kernel says of a parameter; `border`: within `near` of it in the parameter plane; 0: not asked. */
  readonly side: (u: number, v: number, near: number) => 'in' | 'out' | 'border';
  /** What the kernel finds of its edges and loops: that they lie on the surface, close and do not cross. */
  readonly isValid: boolean;
  readonly edges: number;
}

/** Curves in the parameter plane, as the kernel is to be given them. */
export type PlaneCurve =
  | { readonly kind: 'line'; readonly from: Pair; readonly to: Pair }
  /** Counterclockwise from angle `from` to `to`; `small` is the half axis in v. */
  | {
      readonly kind: 'ellipse';
      readonly centre: Pair;
      readonly large: number;
      readonly small: number;
      readonly from: number;
      readonly to: number;
    }
  /** Clamped, of degree 3, uniform knots. */
  | { readonly kind: 'spline'; readonly points: readonly Pair[] };
export type Pair = readonly [number, number];

/** A B-spline surface of degree 3 x 3 with uniform clamped knots over `ranges`. */
export interface MadeSheet {
  readonly ranges: KernelFace['ranges'];
  readonly columns: number;
  readonly rows: number;
  readonly point: (column: number, row: number) => readonly [number, number, number];
}

const uniform = (oc: OpenCascadeInstance, [from, to]: Pair, spans: number, degree: number) => {
  const knots = new oc.TColStd_Array1OfReal_2(1, spans + 1);
  const times = new oc.TColStd_Array1OfInteger_2(1, spans + 1);
  for (let k = 0; k <= spans; k++) {
    knots.SetValue(k + 1, from + (k / spans) * (to - from));
    times.SetValue(k + 1, k === 0 || k === spans ? degree + 1 : 1);
  }
  return { knots, times };
};

function sheetHandle(oc: OpenCascadeInstance, made: MadeSheet) {
  const poles = new oc.TColgp_Array2OfPnt_2(1, made.columns, 1, made.rows);
  for (let i = 0; i < made.columns; i++)
    for (let j = 0; j < made.rows; j++)
      poles.SetValue(i + 1, j + 1, new oc.gp_Pnt_3(...made.point(i, j)));
  const u = uniform(oc, made.ranges[0], made.columns - 3, 3);
  const v = uniform(oc, made.ranges[1], made.rows - 3, 3);
  return new oc.Handle_Geom_Surface_2(
    new oc.Geom_BSplineSurface_1(poles, u.knots, v.knots, u.times, v.times, 3, 3, false, false),
  );
}

function planeCurve(oc: OpenCascadeInstance, curve: PlaneCurve) {
  const point = ([u, v]: Pair) => new oc.gp_Pnt2d_3(u, v);
  if (curve.kind === 'line') {
    const [du, dv] = [curve.to[0] - curve.from[0], curve.to[1] - curve.from[1]];
    return {
      made: new oc.Geom2d_Line_3(point(curve.from), new oc.gp_Dir2d_4(du, dv)),
      range: [0, Math.hypot(du, dv)] as const,
    };
  }
  if (curve.kind === 'ellipse') {
    const axis = new oc.gp_Ax2d_2(point(curve.centre), new oc.gp_Dir2d_4(1, 0));
    return {
      made:
        curve.large === curve.small
          ? new oc.Geom2d_Circle_2(axis, curve.large, true)
          : new oc.Geom2d_Ellipse_2(axis, curve.large, curve.small, true),
      range: [curve.from, curve.to] as const,
    };
  }
  const poles = new oc.TColgp_Array1OfPnt2d_2(1, curve.points.length);
  curve.points.forEach((p, k) => poles.SetValue(k + 1, point(p)));
  const { knots, times } = uniform(oc, [0, 1], curve.points.length - 3, 3);
  return {
    made: new oc.Geom2d_BSplineCurve_1(poles, knots, times, 3, false),
    range: [0, 1] as const,
  };
}

/** How the kernel is to write a face: as a trimmed surface (144) or as a face of loops (510). */
export type WrittenAs = 'trimmed surface' | 'face of loops';

/**
 * An IGES file of one face that the kernel trims by loops, the first of which is the outer one (run
 * counterclockwise, as the inner ones are). `inPlane` false leaves out the curves in the plane.
 */
export function kernelIges(
  oc: OpenCascadeInstance,
  made: MadeSheet,
  loops: readonly (readonly PlaneCurve[])[],
  as: WrittenAs,
  unit: 'MM' | 'INCH',
  inPlane: boolean,
): Uint8Array {
  const surface = sheetHandle(oc, made);
  const wires = loops.map((loop) => {
    const wire = new oc.BRepBuilderAPI_MakeWire_1();
    for (const curve of loop) {
      const { made: flat, range } = planeCurve(oc, curve);
      const edge = new oc.BRepBuilderAPI_MakeEdge_31(
        new oc.Handle_Geom2d_Curve_2(flat),
        surface,
        range[0],
        range[1],
      ).Edge();
      oc.BRepLib.BuildCurve3d(edge, 1e-6, oc.GeomAbs_Shape.GeomAbs_C1 as never, 14, 200);
      wire.Add_1(edge);
    }
    if (!wire.IsDone()) throw new Error('the kernel makes no loop of these curves');
    return wire.Wire();
  });
  const [outer, ...inner] = wires;
  const face = new oc.BRepBuilderAPI_MakeFace_2(
    new oc.BRepBuilderAPI_MakeFace_21(surface, outer, true).Face(),
  );
  for (const wire of inner) face.Add(oc.TopoDS.Wire_1(wire.Reversed()));
  oc.Interface_Static.SetIVal('write.surfacecurve.mode', inPlane ? 1 : 0);
  const writer = new oc.IGESControl_Writer_2(unit, as === 'face of loops' ? 1 : 0);
  writer.AddShape(face.Face(), new oc.Message_ProgressRange_1());
  writer.ComputeModel();
  writer.Write_2('/made.igs', false);
  const bytes: Uint8Array = oc.FS.readFile('/made.igs');
  oc.FS.unlink('/made.igs');
  return bytes;
}

/** The faces the kernel makes of a file. */
export function kernelFaces(
  oc: OpenCascadeInstance,
  bytes: Uint8Array,
  format: 'iges' | 'step' = 'iges',
): KernelFace[] {
  oc.FS.writeFile('/faces', bytes);
  const reader = format === 'iges' ? new oc.IGESControl_Reader_1() : new oc.STEPControl_Reader_1();
  if (reader.ReadFile('/faces') !== oc.IFSelect_ReturnStatus.IFSelect_RetDone)
    throw new Error('the kernel cannot read this file');
  reader.TransferRoots(new oc.Message_ProgressRange_1());
  oc.FS.unlink('/faces');
  const kinds = oc.TopAbs_ShapeEnum;
  const explorer = new oc.TopExp_Explorer_2(
    reader.OneShape(),
    kinds.TopAbs_FACE as never,
    kinds.TopAbs_SHAPE as never,
  );
  const found: KernelFace[] = [];
  const { TopAbs_IN, TopAbs_ON } = oc.TopAbs_State;
  for (; explorer.More(); explorer.Next()) {
    const face = oc.TopoDS.Face_1(explorer.Current());
    const adaptor = new oc.BRepAdaptor_Surface_2(face, false);
    const classifier = new oc.BRepTopAdaptor_FClass2d(face, 1e-9);
    const edges = new oc.TopExp_Explorer_2(
      face,
      kinds.TopAbs_EDGE as never,
      kinds.TopAbs_SHAPE as never,
    );
    let count = 0;
    for (; edges.More(); edges.Next()) count++;
    found.push({
      isValid: new oc.BRepCheck_Analyzer(face, true, false).IsValid_2(),
      edges: count,
      isSpline: (adaptor.GetType() as unknown) === oc.GeomAbs_SurfaceType['GeomAbs_BSplineSurface'],
      ranges: [
        [adaptor.FirstUParameter(), adaptor.LastUParameter()],
        [adaptor.FirstVParameter(), adaptor.LastVParameter()],
      ],
      evaluate: (u, v) => {
        const p = adaptor.Value(u, v);
        return [p.X(), p.Y(), p.Z()];
      },
      side: (u, v, near) => {
        const at = new oc.gp_Pnt2d_3(u, v);
        if (near > 0 && (classifier.TestOnRestriction(at, near, false) as unknown) === TopAbs_ON)
          return 'border';
        return (classifier.Perform(at, false) as unknown) === TopAbs_IN ? 'in' : 'out';
      },
    });
  }
  return found;
}
