// The part of the WebAssembly JavaScript interface (W3C) in use: Node has it, its types do not.
declare namespace WebAssembly {
  class Module {
    constructor(bytes: Uint8Array);
    readonly [Symbol.toStringTag]: string;
  }
  class Memory {
    constructor(size: { readonly initial: number });
    readonly buffer: ArrayBuffer;
    grow(pages: number): number;
  }
  class Instance {
    constructor(
      module: Module,
      imports: Readonly<Record<string, Readonly<Record<string, Memory>>>>,
    );
    readonly exports: Readonly<Record<string, unknown>>;
  }
}
