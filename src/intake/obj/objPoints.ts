/** Points of one kind, numbered from 1 in the order of the file. */
export class ObjPoints {
  count = 0;
  private values = new Float64Array(4096);

  /** `width`: numbers a point. */
  constructor(readonly width: number) {}

  /** Room for one more point: the numbers of the last `width` are to be set by `set`. */
  add(): void {
    this.count++;
    if (this.count * this.width <= this.values.length) return;
    const longer = new Float64Array(2 * this.values.length);
    longer.set(this.values);
    this.values = longer;
  }

  /** Sets number `axis` of the last point. */
  set(axis: number, value: number): void {
    this.values[(this.count - 1) * this.width + axis] = value;
  }

  /** Number `axis` of point `number`, which must be there. */
  get(number: number, axis: number): number {
    return this.values[(number - 1) * this.width + axis];
  }

  /** Number, from 1, that an index means: a negative one counts back from the last. NaN: none. */
  numberOf(index: number): number {
    const number = index < 0 ? this.count + 1 + index : index;
    return number >= 1 ? number : NaN;
  }
}
