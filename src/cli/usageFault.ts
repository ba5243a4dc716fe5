/** A call that cannot be carried out as asked. Its message says what is wrong and what to do. */
export class UsageFault extends Error {}
