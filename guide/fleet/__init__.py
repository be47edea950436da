"""Many jobs: verified records gathered into an open store, and questions asked of all of them at once."""
