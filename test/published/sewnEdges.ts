import type { OpenCascadeInstance, TopoDS_Shape } from 'opencascade.js/dist/opencascade.full.js';
import type { Vector } from '../../src/geometry/vector.ts';

/** An edge that a general geometry kernel's sewing has made one of the edges of two faces. */
export interface SewnEdge {
  /** The faces, counted among all faces of the file. */
  readonly faces: readonly [number, number];
  /** mm, of the edge of the first face on its surface, before sewing. */
  readonly length: number;
  /** The largest distance between both edges as they lie on their surfaces, before sewing, mm. */
  readonly gap: number;
  /** Distance of a point from the edge of the first face, mm. */
  readonly distanceOf: (point: Vector) => number;
}

export interface SewnFaces {
  /** Of each face, whether it lies on a B-spline surface, and the middle of its surface. */
  readonly faces: readonly { readonly isSpline: boolean; readonly middle: Vector }[];
  readonly edges: readonly SewnEdge[];
}

/** Places along an edge between which its length is taken. */
const looks = 1000;
/** At fewer of them the other edge is looked for, and at as many again around the farthest. */
const gapLooks = 200;

/** What the kernel sews of the faces of a file, taken apart before, within a tolerance in mm. */
export function sewnFaces(
  oc: OpenCascadeInstance,
  bytes: Uint8Array,
  format: 'iges' | 'step',
  tolerance: number,
): SewnFaces {
  oc.FS.writeFile('/sewn', bytes);
  const reader = format === 'iges' ? new oc.IGESControl_Reader_1() : new oc.STEPControl_Reader_1();
  if (reader.ReadFile('/sewn') !== oc.IFSelect_ReturnStatus.IFSelect_RetDone)
    throw new Error('the kernel cannot read this file');
  reader.TransferRoots(new oc.Message_ProgressRange_1());
  oc.FS.unlink('/sewn');
  const kinds = oc.TopAbs_ShapeEnum;
  const parts = (shape: TopoDS_Shape, kind: 'TopAbs_FACE' | 'TopAbs_EDGE'): TopoDS_Shape[] => {
    const found: TopoDS_Shape[] = [];
    const explorer = new oc.TopExp_Explorer_2(
      shape,
      kinds[kind] as never,
      kinds.TopAbs_SHAPE as never,
    );
    for (; explorer.More(); explorer.Next()) found.push(explorer.Current());
    return found;
  };
  // copies share no edges
  const faces = parts(reader.OneShape(), 'TopAbs_FACE').map((face) =>
    oc.TopoDS.Face_1(new oc.BRepBuilderAPI_Copy_2(face, true, false).Shape()),
  );
  const sewing = new oc.BRepBuilderAPI_Sewing(tolerance, true, true, true, true);
  for (const face of faces) sewing.Add(face);
  sewing.Perform(new oc.Message_ProgressRange_1());

  /** Edges of a face as they lie on it, with what sewing made of them. */
  const edgesOf = faces.map((face) =>
    parts(face, 'TopAbs_EDGE').map((edge) => ({
      curve: new oc.BRepAdaptor_Curve_3(oc.TopoDS.Edge_1(edge), face),
      sewn: sewing.ModifiedSubShape(edge),
    })),
  );
  type Curve = (typeof edgesOf)[number][number]['curve'];
  const rangeOf = (curve: Curve): readonly [number, number] => [
    curve.FirstParameter(),
    curve.LastParameter(),
  ];
  const places = (curve: Curve, count: number, [from, to] = rangeOf(curve)): Vector[] => {
    return Array.from({ length: count + 1 }, (_, k): Vector => {
      const p = curve.Value(from + (k / count) * (to - from));
      return [p.X(), p.Y(), p.Z()];
    });
  };
  /** To the nearest foot of a point on a curve, or to the nearer of its ends. */
  const distanceTo = (curve: Curve, [x, y, z]: Vector): number => {
    const point = new oc.gp_Pnt_3(x, y, z);
    const [from, to] = rangeOf(curve);
    const feet = new oc.Extrema_ExtPC_2(point, curve, from, to, 1e-10);
    let least = Math.min(...[from, to].map((t) => curve.Value(t).Distance(point)));
    for (let k = 1; feet.IsDone() && k <= feet.NbExt(); k++)
      least = Math.min(least, Math.sqrt(feet.SquareDistance(k)));
    feet.delete();
    point.delete();
    return least;
  };
  const largestGap = (curve: Curve, other: Curve): number => {
    const gaps = places(curve, gapLooks).map((p) => distanceTo(other, p));
    const farthest = gaps.indexOf(Math.max(...gaps));
    const [from, to] = rangeOf(curve);
    const around = [farthest - 1, farthest + 1].map(
      (k) => from + (Math.min(Math.max(k, 0), gapLooks) / gapLooks) * (to - from),
    );
    const finer = places(curve, gapLooks, [around[0], around[1]]);
    return Math.max(gaps[farthest], ...finer.map((p) => distanceTo(other, p)));
  };
  const edges: SewnEdge[] = [];
  edgesOf.forEach((own, a) =>
    edgesOf.slice(a + 1).forEach((others, more) => {
      for (const edge of own)
        for (const other of others) {
          if (!edge.sewn.IsSame(other.sewn)) continue;
          const along = places(edge.curve, looks);
          edges.push({
            faces: [a, a + 1 + more],
            length: along
              .slice(1)
              .reduce(
                (total, p, k) => total + Math.hypot(...p.map((x, axis) => x - along[k][axis])),
                0,
              ),
            gap: largestGap(edge.curve, other.curve),
            distanceOf: (point) => distanceTo(edge.curve, point),
          });
        }
    }),
  );
  return {
    faces: faces.map((face) => {
      const surface = new oc.BRepAdaptor_Surface_2(face, false);
      const p = surface.Value(
        (surface.FirstUParameter() + surface.LastUParameter()) / 2,
        (surface.FirstVParameter() + surface.LastVParameter()) / 2,
      );
      return {
        isSpline:
          (surface.GetType() as unknown) === oc.GeomAbs_SurfaceType['GeomAbs_BSplineSurface'],
        middle: [p.X(), p.Y(), p.Z()] as const,
      };
    }),
    edges,
  };
}
