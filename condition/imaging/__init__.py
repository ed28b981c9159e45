"""Pictures as arrays: numpy in, numpy or plain shapes out. Knows no page, no store and no job."""
