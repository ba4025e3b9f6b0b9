"""Who is named in a comment: an at sign, and the name by which somebody signs in."""

import re

_NAMED = re.compile(r"(?<![\w@.-])@([\w.-]*\w)")


def names_in(words: str) -> tuple[str, ...]:
    """The names behind an at sign, in small letters, each once, in the order of the words.

    Args:
        words: plain text. Dots and dashes at the end of a name belong to the sentence; an at sign
            within a word, as in an e-mail address, names nobody.

    Returns:
        The names as they were written, whether or not anybody has them: “@804” names “804”, and
        whoever asks decides that it is a temperature. Empty where nobody is named; raises nothing.

    Source: none; a convention of this project.

    >>> names_in("@Oona, look: 12 min @804. Thanks, @ravi.m! (mail inka@studio.example)")
    ('oona', '804', 'ravi.m')
    """
    return tuple(dict.fromkeys(name.lower() for name in _NAMED.findall(words)))
