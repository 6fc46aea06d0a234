"""Which setup the shop's own record favours for a job."""
