"""Many sessions as tables: Parquet files by site and month, read through DuckDB (the extra `[archive]`)."""
