"""Out: pictures, sheets, the builder's file and exports. Everything here words and draws; nothing here computes rain."""
