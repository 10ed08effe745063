// The bake, live.
export {};
