import type { Mesh } from '../../geometry/mesh.ts';
import type { Fault, Notice } from '../fault.ts';
import type { ScanFormat } from '../scanFormat.ts';

/**
 * What became of all that a scan's file holds. Triangles of its faces are kept, or left out for one of
 * four reasons: triangles + degenerate + duplicate + outOfRange + broken is what the faces come to.
 */
export interface ScanCounts {
  /** Kept; of STL after corners with equal coordinates became one. */
  readonly vertices: number;
  readonly triangles: number;
  /** Solids of STL, objects of OBJ, 1 where the file tells none apart. */
  readonly parts: number;
  /** Faces in the file: facets, polygons, triangles of strips. */
  readonly faces: number;
  /** Triangles with two equal corners, or without area beside their own length. */
  readonly degenerate: number;
  /** Triangles with the same three corners as one before, whichever way round. */
  readonly duplicate: number;
  /** Triangles with a corner that the file does not hold. */
  readonly outOfRange: number;
  /** Triangles with a corner that is not finite or too far, or of a face that cannot be cut up. */
  readonly broken: number;
  /** Vertices left out: with a coordinate that is no finite number. */
  readonly notFinite: number;
  /** Vertices left out: farther from the origin than any scan. */
  readonly far: number;
  /** Vertices left out: corners of no triangle that is kept. */
  readonly unused: number;
}

/** All that one file of a scan gives; mesh null: nothing in it can be used, and a fault tells why. */
export interface ScanIntake {
  readonly format: ScanFormat | null;
  readonly mesh: Mesh | null;
  readonly counts: ScanCounts | null;
  readonly faults: readonly Fault[];
  readonly notices: readonly Notice[];
}
