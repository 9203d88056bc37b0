// The one host function that core may call: it copies plain data, and every engine and Node have it. Core is compiled
// with the language's own types alone (tsconfig.core.json), which lack it.
declare function structuredClone<Value>(value: Value): Value;
