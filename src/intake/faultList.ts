import type { Fault } from './fault.ts';

/** A file may be wrong in every line; of each kind of fault this many are told, the rest counted. */
const mostOfOneCode = 100;

/** The faults of a file as a reader meets them. */
export class FaultList {
  private readonly told = new Map<Fault['code'], Fault[]>();
  private readonly further = new Map<Fault['code'], number>();

  add(one: Fault): void {
    const alike = this.told.get(one.code);
    if (!alike) this.told.set(one.code, [one]);
    else if (alike.length < mostOfOneCode) alike.push(one);
    else this.further.set(one.code, (this.further.get(one.code) ?? 0) + 1);
  }

  /** All that are told; the last of a kind of which there are too many carries `further`, how many. */
  get faults(): readonly Fault[] {
    return [...this.told].flatMap(([code, alike]) => {
      const further = this.further.get(code);
      const last = alike[alike.length - 1];
      return further === undefined
        ? alike
        : [...alike.slice(0, -1), { ...last, data: { ...last.data, further } }];
    });
  }
}
