/**
 * Statements of OBJ that say nothing of the shape of a mesh, or of which a scan needs nothing: normals
 * and texture, groups, materials, display, lines and points (the format's published description,
 * appendix B1, 1995; from memory).
 */
export const passedOver: ReadonlySet<string> = new Set([
  'vn', 'vt', 'vp', 'g', 's', 'mg', 'p', 'l', 'usemtl', 'mtllib', 'usemap', 'maplib', 'bevel',
  'c_interp', 'd_interp', 'lod', 'shadow_obj', 'trace_obj', 'call', 'csh',
]); // prettier-ignore

/** Statements of the free-form part of OBJ, which describe a surface or a curve. */
export const freeForm: ReadonlySet<string> = new Set([
  'cstype', 'deg', 'bmat', 'step', 'curv', 'curv2', 'surf', 'parm', 'trim', 'hole', 'scrv', 'sp',
  'end', 'con', 'ctech', 'stech',
]); // prettier-ignore
