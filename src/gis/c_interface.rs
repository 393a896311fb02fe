//! The few calls to GDAL's C interface that the safe binding lacks: the warper
//! with its own way from target to source cells, settings of the process, text
//! that is not UTF-8, lists of files and classes. Knows no layers and decides
//! nothing.
#![expect(
    unsafe_code,
    reason = "the safe binding offers neither the warper's options nor these settings"
)]

use std::ffi::{CStr, CString, c_char, c_int, c_void};
use std::path::PathBuf;
use std::ptr;

use gdal::Dataset;
use gdal::errors::GdalError;
use gdal::raster::{GdalDataType, RasterBand};
use gdal::spatial_ref::SpatialRef;
use gdal::vector::{Feature, FeatureIterator, Layer, LayerAccess};
use gdal_sys::{CPLErr, GDALRATFieldUsage, GDALResampleAlg};

/// Keeps PROJ from fetching grids, so that every host takes the same way.
pub(super) fn network_off() {
    // SAFETY: the call takes a plain number and sets a process-wide flag.
    unsafe { gdal_sys::OSRSetPROJEnableNetwork(0) };
}

/// Makes GDAL hand out arcs and curves as straight pieces.
pub(super) fn linear_geometries() {
    // SAFETY: the call takes a plain number and sets a process-wide flag.
    unsafe { gdal_sys::OGRSetNonLinearGeometriesEnabledFlag(0) };
}

/// Sets the memory of GDAL's block cache.
pub(super) fn set_cache_mb(megabytes: usize) {
    let bytes = i64::try_from(megabytes)
        .unwrap_or(i64::MAX)
        .saturating_mul(1 << 20);
    // SAFETY: the call takes a plain number and locks the cache itself.
    unsafe { gdal_sys::GDALSetCacheMax64(bytes) };
}

/// Gives memory back to the system: the blocks that GDAL still has of rasters, and what is
/// free of the heap.
pub fn give_memory_back() {
    // SAFETY: the call takes nothing, locks the cache itself, and writes no raster that is
    // open for reading alone. It tells 0 once no block is left that may go.
    while unsafe { gdal_sys::GDALFlushCacheBlock() } != 0 {}
    trim_heap();
}

/// GDAL and the program share the heap, and the C library keeps most of what either frees.
#[cfg(all(target_os = "linux", target_env = "gnu"))]
fn trim_heap() {
    // SAFETY: the call takes a plain number and locks the heap itself.
    unsafe { libc::malloc_trim(0) };
}

/// Other C libraries give free memory back by themselves.
#[cfg(not(all(target_os = "linux", target_env = "gnu")))]
fn trim_heap() {}

/// Takes heights off a system: the vertical part, or the third axis.
pub(super) fn drop_heights(reference: &mut SpatialRef) {
    let handle = reference.to_c_hsrs();
    // SAFETY: the handle is alive as long as `reference`, which is borrowed
    // alone; a null name keeps the old one.
    unsafe {
        if reference.is_compound() {
            gdal_sys::OSRStripVertical(handle);
        }
        if reference.axes_count() == 3 {
            gdal_sys::OSRDemoteTo2D(handle, ptr::null());
        }
    }
}

/// The features of a layer from its first on. The binding counts them when the reading
/// starts, after which a file geodatabase with a spatial filter gives none at all
/// (GDAL 3.6) unless the reading starts anew.
pub(super) fn features<'l>(layer: &'l mut Layer<'_>) -> FeatureIterator<'l> {
    // SAFETY: the layer is alive and stays where it is; nothing is read from here.
    let handle = unsafe { layer.c_layer() };
    let features = layer.features();
    // SAFETY: the iterator keeps the layer borrowed, so the handle is that of a living
    // layer, and no feature has been read yet.
    unsafe { gdal_sys::OGR_L_ResetReading(handle) };
    features
}

/// Whether a field has no value, whatever its type. `index` is a field of the
/// feature's layer.
pub(super) fn field_is_missing(feature: &Feature, index: c_int) -> bool {
    if index < 0 || usize::try_from(index).map_or(true, |index| index >= feature.field_count()) {
        return true;
    }
    // SAFETY: the feature is alive and the index is one of its fields.
    unsafe { gdal_sys::OGR_F_IsFieldSetAndNotNull(feature.c_feature(), index) == 0 }
}

/// The bytes of a field's text, whatever their encoding.
pub(super) fn field_bytes(feature: &Feature, index: c_int) -> Vec<u8> {
    if field_is_missing(feature, index) {
        return Vec::new();
    }
    // SAFETY: the feature is alive and has the field; the text it returns ends
    // with a zero byte and is copied before the feature is asked again.
    unsafe {
        let text = gdal_sys::OGR_F_GetFieldAsString(feature.c_feature(), index);
        if text.is_null() {
            Vec::new()
        } else {
            CStr::from_ptr(text).to_bytes().to_vec()
        }
    }
}

/// Puts a text without zero bytes into a field; `buffer` is used for the text as C has
/// it, so that many texts need no room of their own.
pub(super) fn set_text(
    feature: &mut Feature,
    index: usize,
    text: &str,
    buffer: &mut Vec<u8>,
) -> Result<(), GdalError> {
    buffer.clear();
    buffer.extend_from_slice(text.as_bytes());
    buffer.push(0);
    let text = CStr::from_bytes_with_nul(buffer)
        .map_err(|_| GdalError::BadArgument("a text with a zero byte".to_owned()))?;
    let index = field_number(feature, index)?;
    // SAFETY: the feature is borrowed alone, it has such a field, and GDAL copies the text.
    unsafe { gdal_sys::OGR_F_SetFieldString(feature.c_feature(), index, text.as_ptr()) };
    Ok(())
}

fn field_number(feature: &Feature, index: usize) -> Result<c_int, GdalError> {
    let fields = feature.field_count();
    let number = c_int::try_from(index).ok().filter(|_| index < fields);
    number.ok_or_else(|| GdalError::BadArgument(format!("column {index} of {fields}")))
}

/// Takes the number off a feature that it was given when it was written, so that it can
/// be filled and written again.
pub(super) fn forget_number(feature: &mut Feature) -> Result<(), GdalError> {
    const NO_NUMBER: i64 = -1;
    // SAFETY: the feature is borrowed alone, and the call takes a plain number.
    let result = unsafe { gdal_sys::OGR_F_SetFID(feature.c_feature(), NO_NUMBER) };
    match result {
        gdal_sys::OGRErr::OGRERR_NONE => Ok(()),
        err => Err(GdalError::OgrError {
            err,
            method_name: "OGR_F_SetFID",
        }),
    }
}

/// The files a dataset is made of.
pub(super) fn files(dataset: &Dataset) -> Vec<PathBuf> {
    // SAFETY: the dataset is alive; the list belongs to the caller and is freed
    // once, after its texts have been copied.
    unsafe {
        let list = gdal_sys::GDALGetFileList(dataset.c_dataset());
        let files = texts(list);
        gdal_sys::CSLDestroy(list);
        files.into_iter().map(PathBuf::from).collect()
    }
}

/// The names of a band's classes by code, as the file tells them.
pub(super) fn classes(band: &RasterBand) -> Vec<(f64, String)> {
    // SAFETY: the band is alive as long as its dataset; both lists belong to it
    // and are only read, the table within its own numbers of rows and columns.
    unsafe {
        let handle = band.c_rasterband();
        let table = gdal_sys::GDALGetDefaultRAT(handle);
        if !table.is_null() {
            let usage = |usage| gdal_sys::GDALRATGetColOfUsage(table, usage);
            let (value, name) = (
                usage(GDALRATFieldUsage::GFU_MinMax),
                usage(GDALRATFieldUsage::GFU_Name),
            );
            let named = (0..gdal_sys::GDALRATGetColumnCount(table)).find(|&column| {
                text(gdal_sys::GDALRATGetNameOfCol(table, column)).eq_ignore_ascii_case("value")
            });
            let value = if value >= 0 { Some(value) } else { named };
            if let (Some(value), true) = (value, name >= 0) {
                return (0..gdal_sys::GDALRATGetRowCount(table))
                    .map(|row| {
                        let code = gdal_sys::GDALRATGetValueAsDouble(table, row, value);
                        (code, text(gdal_sys::GDALRATGetValueAsString(table, row, name)))
                    })
                    .collect();
            }
        }
        let names = texts(gdal_sys::GDALGetRasterCategoryNames(handle));
        let coded = (0u32..).map(f64::from).zip(names);
        coded.filter(|(_, name)| !name.trim().is_empty()).collect()
    }
}

/// # Safety
/// `raw` is null or a text that ends with a zero byte.
unsafe fn text(raw: *const c_char) -> String {
    if raw.is_null() {
        return String::new();
    }
    // SAFETY: not null, and a text by this function's own condition.
    unsafe { CStr::from_ptr(raw) }.to_string_lossy().into_owned()
}

/// # Safety
/// `list` is null or a list of texts that ends with a null.
unsafe fn texts(list: *mut *mut c_char) -> Vec<String> {
    let mut found = Vec::new();
    let mut entry = list;
    // SAFETY: the list is read up to the null that ends it.
    unsafe {
        while !entry.is_null() && !(*entry).is_null() {
            found.push(text(*entry));
            entry = entry.add(1);
        }
    }
    found
}

/// The way between the cells of the target and those of the source, in counts of
/// cells from the north-west corner. A point that has none comes out not finite.
pub(super) trait CellMap {
    /// From target to source.
    fn to_source(&self, cols: &mut [f64], rows: &mut [f64]);
    /// From source to target.
    fn to_target(&self, cols: &mut [f64], rows: &mut [f64]);
}

/// One use of the warper.
pub(super) struct Warp<'a> {
    /// Where the cells come from.
    pub source: &'a Dataset,
    /// The band of the source, counted from 1.
    pub band: c_int,
    /// Where they go: one band of the working type.
    pub target: &'a Dataset,
    /// The type to compute in.
    pub working: GdalDataType,
    /// GDAL's resampling.
    pub how: GDALResampleAlg::Type,
    /// The source's value for missing.
    pub source_nodata: Option<f64>,
    /// What target cells without a value hold.
    pub target_nodata: f64,
    /// Target cells in one source cell, along columns and rows.
    pub scale: (f64, f64),
    /// How far an approximate way may be off, in source cells; 0 for none.
    pub tolerance: f64,
    /// Memory for one piece, in bytes.
    pub memory_bytes: f64,
}

/// What the warper hands back to [`map_cells`]. GDAL looks at the first bytes to
/// find out whether it is one of its own; zeros say that it is not.
#[repr(C)]
struct Handed<'a> {
    signature: [u8; 8],
    map: &'a dyn CellMap,
}

/// Warps one band; false when GDAL says that it failed.
pub(super) fn warp(job: &Warp, map: &dyn CellMap) -> bool {
    let (rows_cols, mut handed) = (
        job.target.raster_size(),
        Handed {
            signature: [0; 8],
            map,
        },
    );
    let (Ok(cols), Ok(rows)) = (c_int::try_from(rows_cols.0), c_int::try_from(rows_cols.1)) else {
        return false;
    };
    let handed_raw = ptr::from_mut(&mut handed).cast::<c_void>();
    // SAFETY: both datasets and the map outlive the warp operation, which is
    // destroyed here. The two arrays are allocated by GDAL's own allocator and
    // freed with the options. Null results are checked before they are used.
    unsafe {
        let options = gdal_sys::GDALCreateWarpOptions();
        if options.is_null() {
            return false;
        }
        let approximate = if job.tolerance > 0.0 {
            gdal_sys::GDALCreateApproxTransformer(Some(map_cells), handed_raw, job.tolerance)
        } else {
            ptr::null_mut()
        };
        (*options).hSrcDS = job.source.c_dataset();
        (*options).hDstDS = job.target.c_dataset();
        (*options).eResampleAlg = job.how;
        (*options).eWorkingDataType = job.working as u32;
        (*options).dfWarpMemoryLimit = job.memory_bytes;
        (*options).nBandCount = 1;
        (*options).panSrcBands = one_number(job.band);
        (*options).panDstBands = one_number(1);
        if let Some(nodata) = job.source_nodata {
            gdal_sys::GDALWarpInitSrcNoDataReal(options, nodata);
        }
        gdal_sys::GDALWarpInitDstNoDataReal(options, job.target_nodata);
        for (key, value) in [
            ("INIT_DEST", "NO_DATA".to_owned()),
            ("SOURCE_EXTRA", "2".to_owned()),
            // Left alone, GDAL takes these from the piece at hand, and values
            // would depend on how the target is cut.
            ("XSCALE", job.scale.0.to_string()),
            ("YSCALE", job.scale.1.to_string()),
        ] {
            let (Ok(key), Ok(value)) = (CString::new(key), CString::new(value)) else {
                continue;
            };
            (*options).papszWarpOptions =
                gdal_sys::CSLSetNameValue((*options).papszWarpOptions, key.as_ptr(), value.as_ptr());
        }
        if approximate.is_null() {
            (*options).pfnTransformer = Some(map_cells);
            (*options).pTransformerArg = handed_raw;
        } else {
            (*options).pfnTransformer = Some(gdal_sys::GDALApproxTransform);
            (*options).pTransformerArg = approximate;
        }
        let ready = !(*options).panSrcBands.is_null() && !(*options).panDstBands.is_null();
        let operation = if ready {
            gdal_sys::GDALCreateWarpOperation(options)
        } else {
            ptr::null_mut()
        };
        let mut done = false;
        if !operation.is_null() {
            done = gdal_sys::GDALChunkAndWarpImage(operation, 0, 0, cols, rows) == CPLErr::CE_None;
            gdal_sys::GDALDestroyWarpOperation(operation);
        }
        gdal_sys::GDALDestroyWarpOptions(options);
        if !approximate.is_null() {
            gdal_sys::GDALDestroyApproxTransformer(approximate);
        }
        done
    }
}

/// # Safety
/// GDAL frees what it returns.
unsafe fn one_number(number: c_int) -> *mut c_int {
    // SAFETY: the memory is checked before it is written, and large enough.
    unsafe {
        let numbers = gdal_sys::CPLMalloc(size_of::<c_int>()).cast::<c_int>();
        if !numbers.is_null() {
            *numbers = number;
        }
        numbers
    }
}

/// GDAL's question where cells lie, passed on to a [`CellMap`].
unsafe extern "C" fn map_cells(
    handed: *mut c_void,
    to_source: c_int,
    count: c_int,
    cols: *mut f64,
    rows: *mut f64,
    _heights: *mut f64,
    success: *mut c_int,
) -> c_int {
    let Ok(count) = usize::try_from(count) else {
        return 0;
    };
    if count == 0 {
        return 1;
    }
    // SAFETY: the argument is the `Handed` that `warp` keeps alive; GDAL hands
    // three arrays of `count` numbers that do not overlap.
    unsafe {
        let map = (*handed.cast::<Handed>()).map;
        let cols = std::slice::from_raw_parts_mut(cols, count);
        let rows = std::slice::from_raw_parts_mut(rows, count);
        let success = std::slice::from_raw_parts_mut(success, count);
        if to_source == 0 {
            map.to_target(cols, rows);
        } else {
            map.to_source(cols, rows);
        }
        for ((col, row), success) in cols.iter().zip(rows.iter()).zip(success) {
            *success = c_int::from(col.is_finite() && row.is_finite());
        }
    }
    1
}
