"""Which clips a batch is to check: folders, manifests, patterns, remote stores."""
