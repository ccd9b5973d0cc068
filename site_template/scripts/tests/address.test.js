import assert from "node:assert/strict";
import test from "node:test";

import { inAddress, remember } from "../address.js";

test("each part of the address is read by its name", () => {
  const hash = "#tree=Old%20Oak%20%26%20Co&colour=height_class";
  assert.equal(inAddress("tree", hash), "Old Oak & Co");
  assert.equal(inAddress("colour", hash), "height_class");
  assert.equal(inAddress("view", hash), "");
});

test("a plus is part of a tree's name", () => {
  assert.equal(inAddress("tree", "#tree=A+1"), "A+1");
});

test("an address that is cut short is read as it stands", () => {
  assert.doesNotThrow(() => inAddress("tree", "#tree=%E0%A4%A"));
  assert.equal(inAddress("tree", "#other"), "");
});

test("a choice is kept beside the others, and taken out alone", () => {
  const written = [];
  globalThis.location = { hash: "#tree=12", pathname: "/index.html", search: "" };
  globalThis.history = {
    replaceState: (_state, _title, address) => {
      written.push(address);
      location.hash = address.startsWith("#") ? address : "";
    },
  };
  remember("colour", "age_class");
  remember("tree", "");
  remember("colour", "");
  remember("colour", "");
  assert.deepEqual(written, ["#tree=12&colour=age_class", "#colour=age_class", "/index.html"]);
});
