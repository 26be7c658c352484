"""Who checks them: processes on this machine or on a cluster."""
