"""Work that outgrows one machine: independent chunks, run here or on a cluster, the same digits on either."""
