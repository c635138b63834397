"""Everything that can go wrong in a way that the user can mend.

A message says what is wrong, where, and what to do. Not understanding a remark is not an error: it is a value
(`assistant.values.Verdict`).
"""


class AssistantError(Exception):
    """Base of every error that is shown to the user as one clear sentence."""


class BadAudio(AssistantError):
    """A sound file or stream cannot be used (not audio, damaged, empty, not finite)."""


class BadGrammar(AssistantError):
    """A grammar file has a mistake; the message gives file, line and the offending text."""


class UnknownWord(AssistantError):
    """A listener has no pronunciation for a word of the grammar; the message names the word and the way to add it."""


class BadRegister(AssistantError):
    """The register of animals, or a file to be imported into it, contradicts itself or a standard."""


class BadStore(AssistantError):
    """The store cannot be opened, read or written."""


class BadSetting(AssistantError):
    """A setting has a value that is not allowed."""


class BadManifest(AssistantError):
    """A list of recordings to evaluate cannot be used; the message gives file and line."""


class ListenerMissing(AssistantError):
    """A listener cannot run here (library or model missing, or the model does not fit)."""


class BadModel(ListenerMissing):
    """A speech model is missing, damaged, of another kind, or cannot be fetched."""


class LibraryMissing(AssistantError):
    """A library that only some work needs is not installed; the message says how to install it."""


class BadTerminal(AssistantError):
    """A screen cannot be shown here."""


class BadOutput(AssistantError):
    """A file for people or other programs cannot be written."""


class BadDevice(AssistantError):
    """A microphone or loudspeaker is not there, or cannot be used."""
