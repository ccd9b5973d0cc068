/** What the address behind # says: `#tree=12&colour=height_class`. */

/** @param {string} name @param {string} [hash] @returns {string} "" where it says nothing */
export function inAddress(name, hash = location.hash) {
  // A plus is a plus in the name of a tree.
  return new URLSearchParams(hash.slice(1).replaceAll("+", "%2B")).get(name) ?? "";
}

/**
 * Keep a choice in the address, so that it can be sent to somebody. What else stands there stays.
 * @param {string} name @param {string} value "" takes it out
 */
export function remember(name, value) {
  if (inAddress(name) === value) return;
  const others = location.hash.slice(1).split("&");
  const kept = others.filter((part) => part.includes("=") && !part.startsWith(`${name}=`));
  if (value) kept.push(`${name}=${encodeURIComponent(value)}`);
  const hash = kept.length ? `#${kept.join("&")}` : "";
  history.replaceState(null, "", hash || location.pathname + location.search);
}
