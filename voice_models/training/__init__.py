"""The data that the embedded ear is taught with, made by script: voices, texts, noises, and what renders them."""
