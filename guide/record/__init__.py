"""The record of a job: its writer, its verifier, and the list of people who can prove their name."""

from guide.record.journal import Journal

__all__ = ["Journal"]
