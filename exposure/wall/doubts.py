"""What else the figure of an elevation could be, one doubt at a time, each as a band and in its classes."""

from dataclasses import dataclass

from exposure.wall.classes import exposure_class


@dataclass(frozen=True)
class Doubt:
    """One reason why the wall spell index could be another.

    Parameters
    ----------
    name
        ``record``, ``threshold``, ``neighbours``, ``sectors``, ``models`` or ``place``.
    low, high
        Wall spell index it could be; None where nothing says by how much. [L m-2]
    sentence
        For the reader.
    """

    name: str
    low: float | None
    high: float | None
    sentence: str

    @property
    def classes(self) -> tuple[str, str] | None:
        """Classes at both ends of the band.

        Examples
        --------
        >>> Doubt("record", 50.0, 60.0, "").classes
        ('moderate', 'severe')
        """
        if self.low is None or self.high is None:
            return None
        return exposure_class(self.low), exposure_class(self.high)


def class_words(low: str, high: str) -> str:
    """One or two classes in words.

    Examples
    --------
    >>> class_words("moderate", "moderate"), class_words("moderate", "severe")
    ('moderate', 'moderate to severe')
    """
    return low if low == high else f"{low} to {high}"
