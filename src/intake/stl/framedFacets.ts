import { scanned } from '../decimal.ts';
import { blank, scanCoordinate, wordOnLine } from '../scan/coordinate.ts';
import { addTriangle, type ScanDraft } from '../scan/scanDraft.ts';
import { longestShort, shortDecimal } from '../scan/shortDecimal.ts';
import { weldedVertex } from '../scan/weldedVertex.ts';
import { facetFrame, stretchEnd, type FacetFrame } from './facetFrame.ts';
import { keepCorner, recentCorner, recentCorners } from './recentCorners.ts';

/** Offset of the word at `at` or behind the blanks there, or of the line end. */
function nextOnLine(bytes: Uint8Array, at: number): number {
  if (bytes[at] > blank) return at;
  return bytes[at + 1] > blank && bytes[at] === blank ? at + 1 : wordOnLine(bytes, at);
}

/**
 * Reads those facets of a block of whole lines that are written as the first of them is, but for their
 * numbers: all that a program wrote. What they have in common is compared and not read word by word.
 */
export class FramedFacets {
  private readonly view: DataView;
  private readonly recent = recentCorners();
  private readonly point = new Float64Array(3);
  private readonly corners = new Uint32Array(3);
  /** Of the first facet; null: it is not of the common form, undefined: there was none yet. */
  private frame: FacetFrame | null | undefined;

  constructor(
    private readonly draft: ScanDraft,
    private readonly bytes: Uint8Array,
    private readonly to: number,
  ) {
    this.view = new DataView(bytes.buffer, bytes.byteOffset, bytes.length);
  }

  /**
   * Adds the facet that begins at `from` and gives the offset behind it. -1 where it is written otherwise
   * or something is wrong with it; read word by word it then comes to the same vertices again.
   */
  add(from: number): number {
    const { draft, bytes, view, to, corners } = this;
    if (this.frame === undefined) this.frame = facetFrame(bytes, from, to);
    const { frame } = this;
    if (frame === null) return -1;
    let at = stretchEnd(frame.beforeNormal, view, from, to);
    if (at < 0) return -1;
    // The winding of the corners tells the side; what is written may be 0 or wrong.
    for (let axis = 0; axis < 3; axis++) {
      at = nextOnLine(bytes, at);
      while (bytes[at] > blank) at++;
    }
    for (let k = 0; k < 3; k++) {
      at = stretchEnd(frame.beforeCorners[k], view, at, to);
      if (at < 0) return -1;
      at = this.takeCorner(k, at);
      if (at < 0) return -1;
    }
    const end = stretchEnd(frame.behindCorners, view, at, to);
    if (end < 0 || end >= to || bytes[end] > blank) return -1;
    draft.faces++;
    addTriangle(draft, corners[0], corners[1], corners[2]);
    return end;
  }

  /** Takes the k-th corner from what is written at `from`; gives the offset behind it, -1 where it is none. */
  private takeCorner(k: number, from: number): number {
    const { recent, view, to, corners } = this;
    const known = recentCorner(recent, view, from, to);
    if (known >= 0) {
      // Where digits follow, what is to stand behind a corner is not there, and nothing is added.
      corners[k] = recent.vertex[known];
      return from + recent.length[known];
    }
    const end = this.readPoint(from);
    if (end < 0) return -1;
    const { point } = this;
    corners[k] = weldedVertex(this.draft, point[0], point[1], point[2]);
    keepCorner(recent, view, from, end, corners[k]);
    return end;
  }

  /** Reads three coordinates into `point`; gives the offset behind them, -1 where they are none. */
  private readPoint(from: number): number {
    const { bytes, to, point } = this;
    let at = from;
    for (let axis = 0; axis < 3; axis++) {
      at = nextOnLine(bytes, at);
      let end = at + longestShort <= to ? shortDecimal(bytes, at, point, axis) : -1;
      if (end < 0) {
        if (!scanCoordinate(bytes, at, to)) return -1;
        point[axis] = scanned.value;
        end = scanned.end;
      }
      if (bytes[end] > blank) return -1;
      at = end;
    }
    return at;
  }
}
