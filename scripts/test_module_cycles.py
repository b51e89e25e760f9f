#!/usr/bin/env python3
"""Small crates with and without cycles, to see that module_cycles.py tells them apart."""

import tempfile
import unittest
from pathlib import Path

import module_cycles as cycles


def parts(files):
    """The cycles of a crate with these files, each as a sorted list of file names."""
    with tempfile.TemporaryDirectory() as folder:
        for name, text in files.items():
            path = Path(folder, "src", name)
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, encoding="utf-8")
        root = cycles.Module(Path(folder, "src", "lib.rs"), "crate", None)
        cycles.read(root)
        found = cycles.components(cycles.graph_of(root))
        return [sorted(m.path.name for m in part) for part in found]


class Cycles(unittest.TestCase):
    def test_siblings_that_use_each_other(self):
        found = parts({
            "lib.rs": "mod a; mod b;",
            "a.rs": "use super::b::B; pub struct A(B);",
            "b.rs": "pub struct B; fn f(_: crate::a::A) {}",
        })
        self.assertEqual(found, [["a.rs", "b.rs"]])

    def test_child_and_parent_that_use_each_other(self):
        found = parts({
            "lib.rs": "mod child; pub struct P; fn f() { child::g() }",
            "child.rs": "use super::P; pub fn g() -> P { P }",
        })
        self.assertEqual(found, [["child.rs", "lib.rs"]])

    def test_a_name_handed_on_by_the_parent_is_the_childs(self):
        files = {
            "lib.rs": "mod a; mod b; pub use a::A;",
            "a.rs": "pub struct A;",
            "b.rs": "use crate::A; fn f(_: A) {}",
        }
        self.assertEqual(parts(files), [])
        files["a.rs"] += " fn g() { crate::b::h() }"
        self.assertEqual(parts(files), [["a.rs", "b.rs"]])

    def test_tests_comments_and_strings_do_not_count(self):
        found = parts({
            "lib.rs": "mod a; mod b;",
            "a.rs": "use super::b::B; pub struct A(B);",
            "b.rs": "pub struct B; // crate::a::A\nconst T: &str = \"crate::a::A\";\n"
            "#[cfg(test)] mod tests { use crate::a::A; }",
        })
        self.assertEqual(found, [])

    def test_whom_an_item_is_visible_to_does_not_count(self):
        found = parts({
            "lib.rs": "mod a; fn f() { a::g() }",
            "a.rs": "pub(in crate) fn g() {}",
        })
        self.assertEqual(found, [])

    def test_folders_renames_and_groups(self):
        found = parts({
            "lib.rs": "pub mod deep; mod b;",
            "deep/mod.rs": "pub mod inner;",
            "deep/inner.rs": "use crate::{b::{self as other, B}}; pub struct I(B); fn f() { other::g() }",
            "b.rs": "pub struct B; pub fn g() {} fn h(_: super::deep::inner::I) {}",
        })
        self.assertEqual(found, [["b.rs", "inner.rs"]])


if __name__ == "__main__":
    unittest.main()
