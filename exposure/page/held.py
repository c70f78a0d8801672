"""What one reader's session holds, each thing under one name and with its type; nothing else touches the store of Streamlit.

A widget keeps its own value under its own key: a :class:`Held` with that key is how the value is read.
"""

from typing import Generic, TypeVar, overload

import streamlit as st

Value = TypeVar("Value")


class Held(Generic[Value]):
    """One thing a session holds; ``usual`` as long as nobody told it, and again once it is taken.

    As a field of a class it is read, written and deleted as a plain field.
    """

    def __init__(self, key: str, usual: Value) -> None:
        self.key, self.usual = key, usual

    @property
    def value(self) -> Value:
        """What is held now."""
        return st.session_state.get(self.key, self.usual)

    @property
    def told(self) -> bool:
        """Whether anything was put here."""
        return self.key in st.session_state

    def put(self, value: Value) -> None:
        """Hold ``value`` from now on."""
        st.session_state[self.key] = value

    def take(self) -> Value:
        """What is held, and hold it no longer."""
        return st.session_state.pop(self.key, self.usual)

    @overload
    def __get__(self, one: None, owner: type) -> "Held[Value]": ...
    @overload
    def __get__(self, one: object, owner: type) -> Value: ...
    def __get__(self, one: object | None, owner: type) -> "Held[Value] | Value":
        return self if one is None else self.value

    def __set__(self, one: object, value: Value) -> None:
        self.put(value)

    def __delete__(self, one: object) -> None:
        self.take()


class HeldEach(Generic[Value]):
    """Things of one type, each under a name of its own: ``START["north"]`` is the one of that name."""

    def __init__(self, start: str, usual: Value) -> None:
        self.start, self.usual = start, usual

    def __getitem__(self, name: str) -> Held[Value]:
        return Held(f"{self.start}{name}", self.usual)
