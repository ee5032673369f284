"""PostgreSQL without set-up: started at the first connection, stopped by the last process."""
